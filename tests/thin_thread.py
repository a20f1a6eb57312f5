"""One block, one probe, one instrument, one procedure, one job, on record through the desk: what the desk's tests begin with."""

from datetime import datetime, timedelta

from refstd.desk import (
    baselines,
    certificates,
    checks,
    equipment,
    jobs,
    lots,
    people,
    procedure_entry,
    schedules,
    setups,
)
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.requirements import Asked
from refstd.desk.store import Lab, When
from tests.given import KEEPER, NOON, made_once

HEIGHTS = {"1.5 mm": ("-20", "95"), "1.0 mm": ("-18", "80"), "0.5 mm": ("-12", "40")}
SETTINGS = {"rotation_deg": "30", "horizontal_gain_db": "40", "vertical_gain_db": "50"}


def at(minutes: float) -> datetime:
    """Return an instant so many minutes after noon."""
    return NOON + timedelta(minutes=minutes)


def when(minutes: float = 600) -> When:
    """Return the moment of a question, by default in the evening."""
    return When(at(minutes))


def people_and_material(lab: Lab) -> None:
    """Put a technician, a second one, a level 3 and an auditor on record, and the alloy of the part."""
    for code, role in (("TESS", "technician"), ("TOM", "technician"), ("LENA", "technician"), ("AUDE", "auditor")):
        values = {"code": code, "name": f"Person {code}", "role": role}
        people.enter_person(lab, draft(people.PersonDraft, values, code), by=KEEPER, now=NOON)
    grant = {"person": "LENA", "authority": "responsible level 3", "granted_on": "2031-01-01", "why": "examined"}
    people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    for code, family, magnetic, iacs in (
        ("AL", "aluminium alloy", "non-magnetic", "32"), ("TI", "titanium alloy", "non-magnetic", "1.0"),
        ("CS", "carbon steel", "ferromagnetic", ""),
    ):  # fmt: skip
        values = {"code": code, "name": code, "family": family, "magnetic_class": magnetic, "source": "test value"}
        values["conductivity_percent_iacs"] = iacs
        equipment.enter_material(lab, draft(equipment.MaterialDraft, values, code), by=KEEPER, now=NOON)


def block(lab: Lab, number: str = "B-1", **values: str) -> None:
    """Enter a block with three notches."""
    fields = {"asset_no": number, "name": "block", "material": "AL", "form": "plate", "thickness_mm": "10"} | values
    notches = [draft(equipment.NotchDraft, {"label": n, "depth_mm": n.split()[0]}, n) for n in HEIGHTS]
    equipment.enter_item(lab, draft(equipment.BlockDraft, fields, number), notches, by=KEEPER, now=NOON)


def probe(lab: Lab, number: str = "P-1", **values: str) -> None:
    """Enter a pencil probe, 50 to 500 kHz."""
    fields = {"asset_no": number, "name": "pencil", "form": "pencil", "circuit": "bridge", "coils": "absolute"}
    fields |= {"lowest_khz": "50", "highest_khz": "500", "connector": "four-pin"} | values
    equipment.enter_item(lab, draft(equipment.ProbeDraft, fields, number), by=KEEPER, now=NOON)


def instrument(lab: Lab, number: str = "I-1", **values: str) -> None:
    """Enter an instrument that rotates before it scales."""
    fields = {"asset_no": number, "name": "instrument", "lowest_khz": "10", "highest_khz": "10000"}
    fields |= {"connector": "four-pin", "display_order": "rotate-then-scale"} | values
    equipment.enter_item(lab, draft(equipment.InstrumentDraft, fields, number), by=KEEPER, now=NOON)


def certified(lab: Lab, number: str, performed_on: str = "2031-01-10", **value: str) -> None:
    """Give an item a yearly calibration and a certificate, with one value of the 0.5 mm notch if given."""
    schedule = {"asset_no": number, "activity": "calibration", "every_months": "12", "source": "written practice 4.2"}
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, schedule, number), by=KEEPER, now=NOON)
    paper = {"asset_no": number, "number": f"K-{number}", "laboratory": "a laboratory", "performed_on": performed_on}
    values = []
    if value:
        limits = {"lower_limit": "0.45", "upper_limit": "0.55", "limit_source": "drawing 7"}
        limits |= {"notch": "0.5 mm", "expanded_uncertainty": "0.010", "coverage_factor": "2"}
        values = [draft(certificates.ValueDraft, limits | value, "value")]
        paper["decision_rule"] = "simple"
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, paper, number), values, by=KEEPER, now=NOON)


LIMITS = (
    {"against": "target", "lower": "-5", "upper": "5", "unit": "% FSH", "paragraph": "5.3"},
    {"against": "start check", "lower": "-10", "upper": "10", "unit": "%", "paragraph": "6.3"},
    {"quantity": "signal to noise", "against": "none", "lower": "3", "unit": "ratio", "paragraph": "5.5"},
)


def procedure(
    lab: Lab,
    code: str = "PR-1",
    limits: tuple[dict[str, str], ...] = LIMITS,
    asked: Asked | None = None,
    **values: str,
) -> None:
    """File a procedure for plate with a target on the 1.0 mm notch and a check every four hours."""
    fields = {"code": code, "issue": "B", "title": "surface cracks", "approved_on_paper_by": "LENA", "form": "plate"}
    fields |= {"lowest_khz": "100", "highest_khz": "200", "frequency_paragraph": "4.1", "check_every_hours": "4"}
    fields |= {"check_paragraph": "6.2", "tell": "the shift lead"} | values
    target = {"notch": "1.0 mm", "value": "80", "unit": "% FSH", "paragraph": "5.3"}
    procedure_entry.file_procedure(
        lab, draft(procedure_entry.ProcedureDraft, fields, code), [draft(procedure_entry.LimitDraft, x, "limit") for x in limits],
        [draft(procedure_entry.TargetDraft, target, "target")], asked=asked, by=KEEPER, now=NOON,
    )  # fmt: skip


def job(lab: Lab, number: str = "J-1", **values: str) -> None:
    """Open a job on an aluminium plate, at 200 kHz."""
    fields = {"number": number, "procedure": "PR-1", "parts": "panel 4", "material": "AL", "form": "plate"}
    fields |= {"frequency_khz": "200", "starts_on": "2031-03-14", "ends_on": "2031-03-20"} | values
    jobs.enter_job(lab, draft(jobs.JobDraft, fields, number), by="TESS", now=NOON)


def setup(lab: Lab, **values: str) -> str:
    """Make the setup of the three items and return its number."""
    fields = {"instrument": "I-1", "probe": "P-1", "block": "B-1", "frequency_khz": "200", "unit": "% FSH"}
    fields |= {"measure": "horizontal and vertical"} | values
    return setups.make_setup(lab, draft(setups.SetupDraft, fields, "setup"), by="TESS", now=NOON)[0]


@made_once
def whole(lab: Lab) -> str:
    """Put everything on record that a job's first check needs, and return the setup's number."""
    people_and_material(lab)
    block(lab)
    probe(lab)
    instrument(lab)
    for number in ("B-1", "I-1"):
        certified(lab, number)
    procedure(lab)
    job(lab)
    return setup(lab)


def readings(scale: float = 1.0) -> list[checks.ReadingDraft]:
    """Return readings of the three notches, every vertical value scaled and rounded to one digit."""
    return [
        draft(checks.ReadingDraft, {"notch": n, "horizontal": h, "vertical": str(round(float(v) * scale))}, n)
        for n, (h, v) in HEIGHTS.items()
    ]


def check_draft(occasion: str, **values: str) -> checks.CheckDraft:
    """Return a check's occasion and settings, of job J-1 unless said otherwise."""
    fields = {"setup": "S-0001", "occasion": occasion, "nulled": "yes", "phase_set": "yes", "noise": "4"} | SETTINGS
    return draft(
        checks.CheckDraft,
        fields | ({"job": "J-1"} if occasion != "set-up" else {"procedure": "PR-1"}) | values,
        "check",
    )


def check(
    lab: Lab, occasion: str, scale: float = 1.0, minutes: float = 0, by: str = "TESS", **values: str
) -> checks.CheckVerdict:
    """Record a check with scaled readings."""
    return checks.record_check(lab, check_draft(occasion, **values), readings(scale), by=by, now=at(minutes))


def lot(lab: Lab, start: str, parts: str, minutes: float, job: str = "J-1") -> str:
    """Log parts as examined."""
    fields = {"job": job, "start_check": start, "parts": parts}
    return lots.log_lot(lab, draft(lots.LotDraft, fields, "lot"), by="TESS", now=at(minutes)).number


@made_once
def baseline(
    lab: Lab, scales: tuple[float, ...] = (1.0, 1.01, 0.99, 1.02), approved_by: str = "LENA"
) -> tuple[str, ...]:
    """Freeze a baseline from independent set-ups, taken in the morning."""
    sets = [
        (check_draft("set-up", happened_at=f"2031-03-14T09:{10 + i}"), readings(scale))
        for i, scale in enumerate(scales)
    ]
    fields = {"setup": "S-0001", "approved_by": approved_by}
    return baselines.set_baseline_from_readings(
        lab, draft(baselines.BaselineDraft, fields, "baseline"), sets, by="TESS", now=NOON
    )
