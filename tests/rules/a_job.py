"""A job on an aluminium plate, and a block, a probe and an instrument that suit it."""

from datetime import date, timedelta
from decimal import Decimal

from refstd.rules.duties import Duty
from refstd.rules.matching import Candidate, JobFacts, Material
from refstd.rules.serviceability import ItemFacts, ProcedureNeeds

TODAY = date(2031, 6, 15)
AL = Material("AL", "aluminium alloy", "non-magnetic", Decimal("32"))
TI = Material("TI", "titanium alloy", "non-magnetic", Decimal("1.0"))
CS = Material("CS", "carbon steel", "ferromagnetic", None)
SS = Material("SS", "stainless steel", "non-magnetic", Decimal("2.5"))
JOB = JobFacts(
    "J-1", "procedure PR-1 issue A", "plate", AL, None, Decimal("200"), "4.1", Decimal("100"), Decimal("200"),
    TODAY + timedelta(days=10), ProcedureNeeds("procedure PR-1 issue A", ("0.5 mm",)), (), (), None, "",
)  # fmt: skip


def facts(asset_no: str, kind: str, due_in: int = 100) -> ItemFacts:
    due = Duty(
        "calibration", TODAY + timedelta(days=due_in), TODAY, "12 months", "written practice 4.2", "certificate K-1"
    )
    return ItemFacts(asset_no, kind, "in service", "", "state", (due,), notches=("0.5 mm",) if kind == "block" else ())


BLOCK = Candidate(facts("B-1", "block"), "EB-1", form="plate", material=AL)
PROBE = Candidate(
    facts("P-1", "probe"),
    "EP-1",
    form="pencil",
    lowest_khz=Decimal("50"),
    highest_khz=Decimal("500"),
    connector="four-pin",
)
INSTRUMENT = Candidate(
    facts("I-1", "instrument"), "EI-1", lowest_khz=Decimal("10"), highest_khz=Decimal("10000"), connector="four-pin"
)
