"""The lab's own limits of a certified value: given, changed with a reason, ended; never for a paper that is on record."""

import pytest

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.desk import certificates, serviceability
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.filed import filed
from refstd.desk.history import item_record
from refstd.desk.store import Lab, When
from refstd.desk.tolerances import ToleranceDraft, end_tolerance, set_tolerance, tolerances
from tests import thin_thread as given
from tests.given import KEEPER
from tests.published import ilac_g8

LIMITS = {"lower_limit": "0.95", "upper_limit": "1.05", "source": "drawing 7, note 3", "decision_rule": "simple"}


def allow(lab: Lab, minutes: float = 1, by: str = KEEPER, **values: str) -> None:
    fields = {"asset_no": "B-1", "notch": "1.0 mm"} | LIMITS | values
    set_tolerance(lab, draft(ToleranceDraft, fields, "tolerance"), by=by, now=given.at(minutes))


def paper(lab: Lab, number: str, value: str, minutes: float, **fields: str) -> None:
    """File a certificate of the 1.0 mm notch, U = 0.010 mm at k = 2, that states no limits."""
    head = {"asset_no": "B-1", "number": number, "laboratory": "a laboratory", "performed_on": "2031-03-01"}
    row = {"notch": "1.0 mm", "value": value, "expanded_uncertainty": "0.010", "coverage_factor": "2"} | fields
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, head, number), [draft(certificates.ValueDraft, row, "value")],
        by=KEEPER, now=given.at(minutes),
    )  # fmt: skip


def outcome(lab: Lab, number: str) -> tuple[str, str]:
    [value] = filed(lab, "B-1", number, given.when()).values
    return value.outcome, value.rule_source


def test_a_tolerance_judges_the_papers_filed_after_it_and_none_before(lab: Lab) -> None:
    """ISO/IEC 17025:2017, 7.8.6. Planted: values in force judged anew by the tolerance of today."""
    given.whole(lab)
    paper(lab, "K-1", "1.060", 1)
    allow(lab, 2)
    assert outcome(lab, "K-1") == ("", "")
    headline = serviceability.status(lab, ["B-1"], given.when(3))[0].verdict.headline()
    assert headline == "serviceable"
    paper(lab, "K-2", "1.060", 4)
    assert outcome(lab, "K-2") == ("fail", "tolerance of B-1, drawing 7, note 3")
    assert serviceability.status(lab, ["B-1"], given.when())[0].verdict.struck == ("notch 1.0 mm",)
    early = When(given.at(600), as_at=given.at(3))
    assert serviceability.status(lab, ["B-1"], early)[0].verdict.struck == ()


def test_a_changed_tolerance_leaves_the_outcome_of_before_and_tells_both_in_the_history(lab: Lab) -> None:
    given.whole(lab)
    allow(lab, 1)
    paper(lab, "K-1", "1.060", 2)
    with pytest.raises(Refusal, match="Say why it changes"):
        allow(lab, 3, upper_limit="1.10")
    allow(lab, 3, upper_limit="1.10", quantity="Notch depth", unit="mm", why="drawing 7 was revised")
    assert outcome(lab, "K-1")[0] == "fail"
    paper(lab, "K-2", "1.060", 4)
    assert outcome(lab, "K-2")[0] == "pass"
    [shown] = tolerances(lab, given.when())
    assert shown.in_words() == "notch 1.0 mm, Notch depth: 0.95 to 1.10 mm (drawing 7, note 3), the rule 'simple'"
    told = [(e.says, e.superseded) for e in item_record(lab, "B-1", given.when()).events if e.kind == "tolerance"]
    assert [superseded for _, superseded in told] == [True, False]
    assert told[1][0].endswith(": drawing 7 was revised")


def test_an_ended_tolerance_limits_no_further_paper_by_itself(lab: Lab) -> None:
    given.whole(lab)
    allow(lab, 1)
    with pytest.raises(Refusal, match="needs a reason"):
        end_tolerance(lab, "B-1", "1.0 mm", "depth", " ", by=KEEPER, now=given.at(2))
    end_tolerance(lab, "b-1", "1.0 MM", "depth of notch", "no drawing asks for it", by=KEEPER, now=given.at(2))
    assert tolerances(lab, given.when()) == ()
    assert len(tolerances(lab, When(given.at(600), as_at=given.at(1)))) == 1
    paper(lab, "K-1", "1.060", 3)
    assert outcome(lab, "K-1") == ("", "")
    with pytest.raises(NotFound, match="no tolerance in force"):
        end_tolerance(lab, "B-1", "1.0 mm", "depth", "again", by=KEEPER, now=given.at(4))
    allow(lab, 5)
    assert len(tolerances(lab, given.when())) == 1, "set anew, an ended one needs no reason"


def test_without_a_rule_nothing_is_judged_and_that_is_said(lab: Lab) -> None:
    """There is no default rule. Planted: 'simple' taken where none is named."""
    given.whole(lab)
    allow(lab, 1, decision_rule="")
    paper(lab, "K-1", "1.010", 2)
    [value] = filed(lab, "B-1", "K-1", given.when()).values
    assert (value.outcome, value.rule_source) == ("not judged", "")
    assert value.says.startswith(
        "not judged: no decision rule named; compared simply it is inside, limits 0.95 to 1.05 mm"
    )


@pytest.mark.parametrize(("ratio", "bound", "risk"), [row for row in ilac_g8.GUARD_BANDS if row[0] in (0.0, 0.83, 1.0)])
def test_the_guard_band_of_a_tolerance_brings_the_published_risk(
    lab: Lab, ratio: float, bound: float, risk: float
) -> None:
    """ILAC-G8:09/2019, 4.2.3: below 2.5 %, 5 % and 50 % by r; the words of the result keep it."""
    given.whole(lab)
    allow(lab, 1, decision_rule="guard band", guard_ratio=str(ratio))
    paper(lab, "K-1", "1.000", 2)
    [value] = filed(lab, "B-1", "K-1", given.when()).values
    assert value.says.startswith(
        f"pass by the rule 'guard band' with r = {ratio} (tolerance of B-1, drawing 7, note 3)"
    )
    told = float(value.says.partition("risk of a false pass at most ")[2].partition(" %")[0]) / 100
    assert told == pytest.approx(risk, rel=0.02)
    assert told <= bound


@pytest.mark.parametrize(
    ("values", "wrong"),
    [
        ({"lower_limit": "", "upper_limit": ""}, "both missing"),
        ({"lower_limit": "1.05"}, "not below the upper limit"),
        ({"decision_rule": "guard band"}, "the rule 'guard band' has a ratio r"),
        ({"guard_ratio": "1"}, "belongs to the rule 'guard band'"),
    ],
)
def test_a_tolerance_that_contradicts_itself_is_refused_whole(lab: Lab, values: dict[str, str], wrong: str) -> None:
    given.whole(lab)
    with pytest.raises(BadInput, match=wrong):
        allow(lab, 1, KEEPER, **values)
    with pytest.raises(NotFound, match="no notch '9 mm'"):
        allow(lab, notch="9 mm")
    with pytest.raises(NotAllowed):
        allow(lab, by="TESS")
    assert tolerances(lab, given.when()) == ()


def test_a_paper_whose_limits_are_the_wrong_way_round_is_refused_at_the_value(lab: Lab) -> None:
    """It once ended in a fault, since the rule itself takes no such limits."""
    given.whole(lab)
    with pytest.raises(BadInput, match="value 1, lower_limit: is not below the upper limit"):
        paper(lab, "K-1", "1.0", 1, lower_limit="1.05", upper_limit="0.95", limit_source="drawing 7")
