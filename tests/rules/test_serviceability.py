"""The serviceability verdict: state × duty × certified value × finding, and a kit of several items."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.errors import Exit
from refstd.base.reason import Weight
from refstd.rules.certified import CertifiedPoint
from refstd.rules.duties import Duty
from refstd.rules.serviceability import (
    ItemFacts,
    OpenFinding,
    ProcedureNeeds,
    kit_serviceability,
    serviceability,
)
from refstd.rules.verdict import EXIT_OF, Standing

GOOD, LIMITED, STOP = Standing.SERVICEABLE, Standing.LIMITED_USE, Standing.DO_NOT_USE
TODAY = date(2031, 6, 15)
SOON = 30
NEEDS = ProcedureNeeds("procedure PR-1 issue A", ("0.5 mm",))
OTHERS = ProcedureNeeds("procedure PR-2 issue A", ("1.0 mm",))


def duty(days: int | None) -> Duty:
    """Return a calibration that is due in so many days, or was never done."""
    due_on = None if days is None else TODAY + timedelta(days=days)
    last = None if days is None else TODAY - timedelta(days=365 - days)
    return Duty("calibration", due_on, last, "12 months", "written practice 4.2", "certificate K-1")


def point(
    value: str, rule: str = "simple", *, notch: str = "0.5 mm", u: str = "0.010", r: str | None = None
) -> CertifiedPoint:
    """Return a certified depth with limits 0.450 to 0.550 mm, U with k = 2."""
    return CertifiedPoint(
        notch, "depth" if notch else "thickness", Decimal(value), "mm", Decimal(u), Decimal("2"), Decimal("0.450"), Decimal("0.550"),
        "drawing 7", rule, None if r is None else Decimal(r), "certificate K-1",
    )  # fmt: skip


ITEM_HELD = OpenFinding("F-0001", "dropped", "", (), "")
SETUP_HELD = OpenFinding("F-0002", "end check failed", "S-0001", ("B-1", "P-1", "I-1"), "")
SETUP_FREED = OpenFinding("F-0002", "end check failed", "S-0001", ("B-1", "P-1", "I-1"), "check C-0009 on 2031-06-14")


def facts(asset_no: str = "B-1", **known: object) -> ItemFacts:
    values: dict[str, object] = {
        "kind": "block",
        "state": "in service",
        "duties": (duty(100),),
        "notches": ("0.5 mm", "1.0 mm"),
    }
    return ItemFacts(asset_no, state_why="", state_record="state of 2031-01-01", **values | known)  # type: ignore[arg-type]


STATES = {
    "in service": GOOD, "awaiting receipt": STOP, "quarantined": STOP, "in repair": STOP, "lost": STOP, "retired": STOP, "stored": STOP,
    "away at laboratory": STOP, "calibrate before use": STOP, "reference only": STOP, "": STOP,
}  # fmt: skip
DUTIES = {None: STOP, -1: STOP, 0: GOOD, 30: GOOD, 31: GOOD}
POINTS: dict[str, tuple[CertifiedPoint | None, Standing]] = {
    "none": (None, GOOD), "inside": (point("0.500"), GOOD), "outside": (point("0.551"), LIMITED),
    "outside, whole item": (point("0.551", notch=""), STOP),
}  # fmt: skip
FINDINGS: dict[str, tuple[OpenFinding | None, Standing]] = {
    "none": (None, GOOD), "item": (ITEM_HELD, STOP), "setup": (SETUP_HELD, LIMITED), "setup, freed": (SETUP_FREED, GOOD),
}  # fmt: skip
RANK = [GOOD, LIMITED, STOP]


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("days", DUTIES)
@pytest.mark.parametrize("certified", POINTS)
@pytest.mark.parametrize("finding", FINDINGS)
def test_the_verdict_is_the_worst_of_state_duty_certified_values_and_findings(
    state: str, days: int | None, certified: str, finding: str
) -> None:
    """ISO/IEC 17025:2017, 6.4.9 (READ as paraphrase): defective, suspect or out-of-requirement equipment is out of service.

    Planted: 'stored' struck from the states that stop; 27 rows of the table failed.
    """
    p, f = POINTS[certified][0], FINDINGS[finding][0]
    item = facts(state=state, duties=(duty(days),), points=(p,) if p else (), findings=(f,) if f else ())
    verdict = serviceability(item, TODAY, SOON)
    expected = max((STATES[state], DUTIES[days], POINTS[certified][1], FINDINGS[finding][1]), key=RANK.index)
    assert verdict.standing is expected
    for reason in verdict.reasons:
        assert reason.record, reason
        assert reason.cure, reason
        assert not reason.limit or reason.source, reason


@pytest.mark.parametrize(
    ("days", "weight", "says"),
    [
        (-1, Weight.STOPS, "overdue since 2031-06-14"),
        (0, Weight.ADVISES, "due on 2031-06-15"),  # the due date is the last day of validity
        (30, Weight.ADVISES, "due on 2031-07-15"),
        (31, None, ""),
    ],
)
def test_the_due_date_is_the_last_day_of_validity(days: int, weight: Weight | None, says: str) -> None:
    reasons = serviceability(facts(duties=(duty(days),)), TODAY, SOON).reasons
    assert [r.weight for r in reasons] == ([weight] if weight else [])
    assert all(says in r.says for r in reasons)


def test_a_notch_outside_its_limits_is_struck_out_and_stops_only_who_needs_it() -> None:
    item = facts(points=(point("0.551"), point("0.500", notch="1.0 mm")))
    for needs, standing in ((None, LIMITED), (OTHERS, LIMITED), (NEEDS, STOP)):
        verdict = serviceability(item, TODAY, SOON, needs)
        assert verdict.standing is standing
        assert verdict.struck == ("notch 0.5 mm",)
    assert serviceability(item, TODAY, SOON).headline() == "limited use, without notch 0.5 mm"


@pytest.mark.parametrize(
    ("value", "rule", "r", "standing", "advised"),
    [
        # U = 0.010 mm, k = 2, limits 0.450 to 0.550. Guard band r = 1: w = 0.010 (ILAC-G8:09/2019, 4.2.3, READ-2nd).
        ("0.550", "simple", None, GOOD, False),
        ("0.551", "simple", None, LIMITED, False),
        ("0.540", "guard band", "1", GOOD, False),
        ("0.541", "guard band", "1", GOOD, True),  # conditional pass: inside the limit, within w of it
        ("0.551", "guard band", "1", LIMITED, False),  # conditional fail
        ("0.561", "guard band", "1", LIMITED, False),
        # ISO 14253-1 with w = 1.65·u = 0.00825
        ("0.541", "iso 14253-1", None, GOOD, False),
        ("0.542", "iso 14253-1", None, GOOD, True),
        ("0.551", "iso 14253-1", None, LIMITED, False),
    ],
)
def test_a_certified_value_is_judged_by_the_rule_that_its_paper_names(
    value: str, rule: str, r: str | None, standing: Standing, advised: bool
) -> None:
    verdict = serviceability(facts(points=(point(value, rule, r=r),)), TODAY, SOON)
    assert verdict.standing is standing
    assert any(x.weight is Weight.ADVISES for x in verdict.reasons) is advised


def test_without_a_decision_rule_a_value_within_its_limits_is_not_judged_and_that_is_said() -> None:
    """ISO/IEC 17025:2017, 7.8.6 (READ): the decision rule is documented; refstd has no default."""
    verdict = serviceability(facts(points=(point("0.500", ""),)), TODAY, SOON)
    assert verdict.standing is GOOD
    assert [r.says for r in verdict.reasons] == [
        "notch 0.5 mm of B-1 has limits but no decision rule named; it was not judged"
    ]


def test_a_value_without_limits_is_not_judged() -> None:
    bare = CertifiedPoint(
        "0.5 mm", "depth", Decimal("9"), "mm", None, None, None, None, "", "simple", None, "certificate K-1"
    )
    assert serviceability(facts(points=(bare,)), TODAY, SOON).standing is GOOD


def test_the_reason_shows_the_value_with_its_uncertainty_and_the_limits_with_their_source() -> None:
    (reason,) = serviceability(facts(points=(point("0.551"),)), TODAY, SOON).reasons
    assert reason.figure == "0.551 mm (U = 0.010 mm, k = 2)"
    assert reason.limit == "0.450 to 0.550 mm"
    assert reason.source == "drawing 7"
    assert reason.record == "certificate K-1"


def test_evidence_that_says_not_sound_stops_the_item() -> None:
    verdict = serviceability(facts(not_sound=("inspection R-7",)), TODAY, SOON)
    assert verdict.standing is STOP
    assert verdict.reasons[0].record == "inspection R-7"


@pytest.mark.parametrize(
    ("kind", "proved", "rule", "standing"),
    [
        ("block", False, "unproved", STOP),
        ("instrument", False, "unproved", STOP),
        ("block", True, "schedule", GOOD),
        ("instrument", True, "schedule", GOOD),
        ("probe", False, "", GOOD),
        ("accessory", False, "", GOOD),
    ],
)
def test_a_block_or_instrument_without_a_paper_is_stopped_and_one_that_owes_nothing_is_pointed_out(
    kind: str, proved: bool, rule: str, standing: Standing
) -> None:
    """ISO/IEC 17025:2017, 6.4.4 (READ as paraphrase): equipment is verified to conform before it is placed in service.

    A probe or an accessory is proved by the response check itself. Planted: a new block without a paper only advised
    on its schedule, and was serviceable.
    """
    verdict = serviceability(facts(kind=kind, proved=proved, duties=()), TODAY, SOON)
    assert verdict.standing is standing
    assert [r.rule for r in verdict.reasons] == ([rule] if rule else [])


def test_an_item_that_waits_for_its_receipt_inspection_is_stopped_once_and_a_duty_never_done_speaks_for_itself() -> (
    None
):
    waiting = serviceability(facts(state="awaiting receipt", duties=()), TODAY, SOON)
    never = serviceability(facts(duties=(duty(None),)), TODAY, SOON)
    for verdict, rule in ((waiting, "state"), (never, "due")):
        assert verdict.standing is STOP
        assert [r.rule for r in verdict.reasons if r.weight is Weight.STOPS] == [rule]


def test_a_held_setup_stops_the_kit_that_is_it_and_no_other() -> None:
    """Each of its items is of limited use; together they are the held setup; in another setup they may be used."""
    setup = tuple(facts(n, findings=(SETUP_HELD,), points=()) for n in ("B-1", "P-1", "I-1"))
    assert [serviceability(i, TODAY, SOON).standing for i in setup] == [LIMITED] * 3
    assert kit_serviceability(setup, TODAY, SOON).standing is STOP
    other = (*setup[:2], facts("I-2"))
    assert kit_serviceability(other, TODAY, SOON).standing is GOOD
    freed = tuple(facts(n, findings=(SETUP_FREED,)) for n in ("B-1", "P-1", "I-1"))
    assert kit_serviceability(freed, TODAY, SOON).standing is GOOD


@pytest.mark.parametrize(
    ("undecided", "freed", "held"), [(True, "decide the held lots", True), (False, "have the finding released", False)]
)
def test_lots_are_to_be_decided_only_where_lots_are_held(undecided: bool, freed: str, held: bool) -> None:
    """Planted bug it caught: 'decide the held lots' for a setup that failed before anything was examined."""
    [reason] = serviceability(facts(findings=(replace(SETUP_FREED, undecided_lots=undecided),)), TODAY, SOON).reasons
    assert reason.says == "setup S-0001 failed a check and was freed for new work by check C-0009 on 2031-06-14"
    assert reason.cure.startswith(freed)
    kit = tuple(facts(n, findings=(replace(SETUP_HELD, undecided_lots=undecided),)) for n in ("B-1", "P-1", "I-1"))
    [stop] = kit_serviceability(kit, TODAY, SOON).reasons
    assert ("held lots" in stop.cure) is held


def test_a_hold_says_what_ends_it_a_start_check_after_a_failed_one_and_a_release_after_one_by_hand() -> None:
    for hold, says in (
        (SETUP_HELD, "a new acceptable start check"),
        (replace(SETUP_HELD, from_check=False), "released"),
    ):
        setup = tuple(facts(n, findings=(hold,), points=()) for n in ("B-1", "P-1", "I-1"))
        for verdict in (serviceability(setup[0], TODAY, SOON), kit_serviceability(setup, TODAY, SOON)):
            [reason] = verdict.reasons
            assert says in reason.cure


@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(STATES)), st.sampled_from([None, -400, -1, 0, 400])), min_size=1, max_size=4
    )
)
def test_a_kit_is_never_better_than_its_worst_item(kinds: list[tuple[str, int | None]]) -> None:
    items = tuple(facts(f"P-{n}", kind="probe", state=s, duties=(duty(d),)) for n, (s, d) in enumerate(kinds))
    alone = [serviceability(i, TODAY, SOON).standing for i in items]
    assert kit_serviceability(items, TODAY, SOON).standing is max(alone, key=RANK.index)


def test_the_headline_names_the_first_reason_that_stops() -> None:
    item = facts(state="quarantined", duties=(duty(None),))
    assert serviceability(item, TODAY, SOON).headline() == "do not use: calibration of B-1 was never done"


def test_each_standing_has_an_exit_code_of_its_own() -> None:
    assert EXIT_OF == {GOOD: Exit.YES, LIMITED: Exit.LIMITED_USE, STOP: Exit.NO}
    assert [int(EXIT_OF[s]) for s in RANK] == [0, 5, 1]
