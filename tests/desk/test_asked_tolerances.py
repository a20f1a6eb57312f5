"""A procedure that asks for closely certified conductivity standards (MIL-STD-1537C), from its file to status, match and filing."""

import pytest

from refstd.base.errors import BadInput
from refstd.base.reason import Weight
from refstd.desk import certificates, procedures, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.filed import filed
from refstd.desk.requirements import AskedToleranceDraft
from refstd.desk.store import Lab
from refstd.exchange.export import export_register
from tests import thin_thread as given
from tests.given import KEEPER
from tests.published import mil_std_1537c

IACS = {"quantity": "conductivity", "unit": "%IACS"}
LABORATORY = IACS | {
    "largest_uncertainty": mil_std_1537c.LABORATORY_IACS, "largest_uncertainty_percent": mil_std_1537c.LABORATORY_PERCENT,
    "paragraph": f"5.1 ({mil_std_1537c.LABORATORY_CLAUSE})",
}  # fmt: skip
INSTRUMENT = IACS | {
    "largest_uncertainty": mil_std_1537c.INSTRUMENT_IACS, "paragraph": f"5.2 ({mil_std_1537c.INSTRUMENT_CLAUSE})"
}  # fmt: skip


def asking(lab: Lab, code: str, *tolerances: dict[str, str]) -> None:
    rows = [draft(AskedToleranceDraft, t, "tolerance") for t in tolerances]
    given.procedure(lab, code, asked={"tolerances_asked": rows})


def standard(lab: Lab, number: str, value: str, u: str) -> None:
    """Enter a block of aluminium and its calibration with one value, its conductivity, that meets its own limits."""
    given.block(lab, number)
    given.certified(lab, number)
    head = {"asset_no": number, "number": f"C-{number}", "laboratory": "a laboratory", "performed_on": "2031-02-01"}
    head["decision_rule"] = "simple"
    row = IACS | {
        "value": value,
        "expanded_uncertainty": u,
        "coverage_factor": "2",
        "lower_limit": "28",
        "upper_limit": "34",
    }
    row |= {"limit_source": "order 12"}
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, head, number), [draft(certificates.ValueDraft, row, "value")], by=KEEPER, now=given.at(1)
    )  # fmt: skip


def test_a_standard_is_out_only_for_the_procedure_that_asks_for_a_smaller_uncertainty(lab: Lab) -> None:
    """MIL-STD-1537C, 4.2.1 and 4.2.2: at 32 %IACS a laboratory standard within 0.32, an instrument standard within 0.85 %IACS."""
    given.people_and_material(lab)
    asking(lab, "LAB-STD", LABORATORY)
    asking(lab, "INSTR-STD", INSTRUMENT)
    for number, u in (("B-1", "0.32"), ("B-2", "0.33"), ("B-3", "0.86")):
        standard(lab, number, "32.0", u)
    standings = {
        (number, code): str(serviceability.status(lab, [number], given.when(), code)[0].verdict.standing)
        for number in ("B-1", "B-2", "B-3")
        for code in ("", "LAB-STD", "INSTR-STD")
    }
    out = [pair for pair, standing in standings.items() if standing == "do not use"]
    assert out == [("B-2", "LAB-STD"), ("B-3", "LAB-STD"), ("B-3", "INSTR-STD")]
    verdict = serviceability.status(lab, ["B-2"], given.when(), "LAB-STD")[0].verdict
    [reason] = [r for r in verdict.reasons if r.weight is Weight.STOPS]
    assert (reason.figure, reason.limit) == ("32.0 %IACS, U = 0.33 %IACS (k = 2)", "at most 0.32 %IACS (k = 2)")
    assert (reason.source, reason.record) == (
        "procedure LAB-STD issue B, 5.1 (MIL-STD-1537C, 4.2.1)",
        "certificate C-B-2",
    )
    answer = filed(lab, "B-2", "C-B-2", given.when())
    assert [o.procedure for o in answer.out_for] == ["procedure LAB-STD issue B"]
    assert "U of conductivity of B-2 is larger than procedure LAB-STD issue B asks" in answer.out_for[0].why


def test_what_is_asked_stands_with_the_procedure_and_in_its_file(lab: Lab) -> None:
    given.people_and_material(lab)
    depth = {"notch": "1.0 mm", "against": "nominal", "lower": "-0.02", "upper": "0.02", "paragraph": "5.3"}
    depth |= {"decision_rule": "guard band", "guard_ratio": "0.83"}
    asking(lab, "PR-1", LABORATORY, depth)
    [shown] = procedures.procedures(lab, given.when())
    assert [x.in_words() for x in shown.asks.tolerances] == [
        "conductivity of the block: U of 0.35 %IACS or 1 % of the value, whichever is less, at most (k = 2)",
        "depth of notch 1.0 mm: -0.02 to 0.02 mm from its nominal by the rule 'guard band' with r = 0.83",
    ]
    assert shown.needs.notches == ("1.0 mm",)
    lines = export_register(lab, given.when())["tolerances_asked.csv"].decode().splitlines()
    assert lines[1] == 'PR-1,conductivity,,none,,,0.35,1,%IACS,,,"5.1 (MIL-STD-1537C, 4.2.1)"'
    assert lines[2] == "PR-1,depth,1.0 mm,nominal,-0.02,0.02,,,mm,guard band,0.83,5.3"


@pytest.mark.parametrize(
    ("values", "wrong"),
    [
        ({}, "asks for nothing"),
        ({"lower": "1", "upper": "1"}, "tolerances asked 1, lower: is not below the upper limit"),
        ({"lower": "1", "decision_rule": "guard band"}, "the rule 'guard band' has a ratio r"),
        (
            {"largest_uncertainty": "1", "decision_rule": "simple"},
            "names a rule or a nominal without a limit of the value",
        ),
    ],
)
def test_a_tolerance_that_contradicts_itself_is_refused_with_its_place(
    lab: Lab, values: dict[str, str], wrong: str
) -> None:
    given.people_and_material(lab)
    with pytest.raises(BadInput, match=wrong):
        asking(lab, "PR-1", IACS | {"paragraph": "5.1"} | values)
    assert procedures.procedures(lab, given.when()) == ()
