"""Who may sign for a lot on a day: a table of cases, and laws that hold whatever is on record.

That near vision is tested every year and that a lapsed qualification does not count are common practice, no source.
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from refstd.base.reason import Weight
from refstd.rules.qualified import (
    KINDS_OF_VISION,
    Examiner,
    Held,
    Sight,
    against_signing,
    owed_by,
    signing_reasons,
    told_with_a_check,
)
from refstd.rules.requirements import QualificationNeeded, Requirements, Vision

DAY, SOON = date(2026, 3, 9), 30
PROCEDURE = "procedure ET-AL-01 issue C"
NONE = Requirements()
NEEDS = QualificationNeeded("ET", 2, "", "paragraph 2.1")
ASKS = Requirements(vision=(Vision("near vision", 12, "paragraph 2.2"),), qualification=NEEDS)
COLOUR = Requirements(vision=(Vision("colour", None, "paragraph 2.3"),))


def held(
    level: int = 2, to: str = "2028-01-31", *, method: str = "ET", sector: str = "", begins: str = "2023-02-01"
) -> Held:
    return Held(
        method, level, sector, "scheme", date.fromisoformat(begins), date.fromisoformat(to), "qualification Q-0001"
    )


def sight(
    on: str = "2025-09-01", to: str | None = "2026-08-31", *, passed: bool = True, kind: str = "near vision"
) -> Sight:
    end = date.fromisoformat(to) if to else None
    return Sight(kind, date.fromisoformat(on), passed, end, "practice 4.1", "test of vision V-0001")


def stops(who: Examiner, asked: Requirements, day: date = DAY) -> list[str]:
    return [r.says for r in against_signing(signing_reasons(who, asked, PROCEDURE, day, SOON))]


GOOD = Examiner("TAM", (held(),), (sight(),))


@pytest.mark.parametrize(
    ("held_", "sight_", "asked", "says"),
    [
        ((held(),), (sight(),), ASKS, []),
        ((held(level=3),), (sight(),), ASKS, []),
        ((held(method="et"),), (sight(),), ASKS, []),
        ((held(to="2026-03-09"),), (sight(),), ASKS, []),  # the last day is a day of validity
        ((held(to="2026-03-08"),), (sight(),), ASKS, ["TAM's ET level 2 expired on 2026-03-08"]),
        ((held(level=1),), (sight(),), ASKS, [f"TAM is not qualified as {PROCEDURE} asks"]),
        ((held(method="MT"),), (sight(),), ASKS, [f"TAM is not qualified as {PROCEDURE} asks"]),
        ((held(level=1), held(to="2026-01-01")), (sight(),), ASKS, ["TAM's ET level 2 expired on 2026-01-01"]),
        ((held(to="2026-01-01"), held(level=3)), (sight(),), ASKS, []),  # renewed
        ((held(begins="2026-03-10"),), (sight(),), ASKS, ["the employer authorises TAM for ET level 2 only from 2026-03-10"]),
        ((), (sight(),), ASKS, ["no qualification is on record for TAM"]),
        ((held(),), (), ASKS, ["no test of near vision is on record for TAM"]),
        ((held(),), (sight("2025-03-08", "2027-03-08"),), ASKS, ["TAM's test of near vision counted to 2026-03-08"]),  # the procedure is sooner
        ((held(),), (sight("2025-03-09", "2027-03-09"),), ASKS, []),
        ((held(),), (sight(), sight("2026-02-01", None, passed=False)), ASKS, ["TAM did not pass the test of near vision of 2026-02-01"]),
        ((held(),), (sight("2026-02-01", None, passed=False), sight("2026-02-01", "2027-01-31")), ASKS, []),  # tested again that day
        ((held(),), (sight("2026-03-10", "2027-03-09"),), ASKS, ["no test of near vision is on record for TAM"]),  # tested after the work
        ((held(),), (sight(),), COLOUR, ["no test of colour vision is on record for TAM"]),
        ((), (), NONE, []),  # nobody asks and nothing is recorded
        ((held(to="2026-03-08"),), (), NONE, ["TAM's ET level 2 expired on 2026-03-08"]),  # recorded, and past its own last day
        ((held(method="UT"), held(to="2026-03-08")), (), NONE, []),  # one of them counts, and nobody says which is needed
        ((), (sight("2025-01-01", "2025-12-31"),), NONE, ["TAM's test of near vision counted to 2025-12-31"]),
        ((held(sector="rail"),), (sight(),), Requirements(qualification=QualificationNeeded("ET", 2, "aerospace", "2.1")), [f"TAM is not qualified as {PROCEDURE} asks"]),
        ((held(),), (sight(),), Requirements(qualification=QualificationNeeded("ET", 2, "aerospace", "2.1")), [f"TAM is not qualified as {PROCEDURE} asks"]),
        ((held(sector="Aerospace"),), (sight(),), Requirements(qualification=QualificationNeeded("ET", 2, "aerospace", "2.1")), []),
    ],
)  # fmt: skip
def test_who_may_sign(held_: tuple[Held, ...], sight_: tuple[Sight, ...], asked: Requirements, says: list[str]) -> None:
    """Planted and caught here: the last day taken as expired; a failed test passed over; the sooner procedure ignored."""
    assert stops(Examiner("TAM", held_, sight_), asked) == says


def test_nothing_on_record_and_nothing_asked_is_told_and_stops_nothing() -> None:
    [told] = signing_reasons(Examiner("TAM"), NONE, PROCEDURE, DAY, SOON)
    assert told.weight is Weight.ADVISES
    assert told.says == f"qualification and test of vision of TAM: not recorded ({PROCEDURE} asks for neither)"


def test_what_ends_soon_is_told_before_it_ends() -> None:
    who = Examiner("TAM", (held(),), (sight(to="2026-03-25"),))
    told = [r for r in signing_reasons(who, ASKS, PROCEDURE, DAY, SOON) if r.weight is Weight.ADVISES]
    assert [(r.says, r.figure, r.limit, r.source) for r in told] == [
        ("TAM's test of near vision counts to 2026-03-25 only", "tested on 2025-09-01, 16 days left", "counts to 2026-03-25", "practice 4.1")
    ]  # fmt: skip


def test_beside_a_check_it_is_advice_that_names_what_it_costs() -> None:
    lapsed = signing_reasons(Examiner("TAM", (held(to="2026-01-01"),), (sight(),)), ASKS, PROCEDURE, DAY, SOON)
    [told] = told_with_a_check(lapsed)
    assert told.weight is Weight.ADVISES
    assert told.says == "TAM's ET level 2 expired on 2026-01-01: the check is kept, but no lot can be signed"
    assert told_with_a_check(signing_reasons(GOOD, ASKS, PROCEDURE, DAY, SOON)) == ()


def test_every_reason_that_stops_has_figure_limit_source_record_and_cure() -> None:
    for who in (Examiner("TAM"), Examiner("TAM", (held(level=1),), (sight(to="2026-01-01"),))):
        for r in against_signing(signing_reasons(who, ASKS, PROCEDURE, DAY, SOON)):
            assert all((r.figure, r.limit, r.source, r.record, r.cure)), r


def test_what_is_owed_is_the_sooner_day_and_what_procedures_ask_for_and_nobody_has() -> None:
    asked = ((PROCEDURE, ASKS), ("procedure ET-BH-01 issue D", COLOUR))
    who = Examiner("TAM", (held(to="2026-01-01"), held(level=3)), (sight("2025-03-20", "2027-03-20"),))
    assert [(o.what, o.due_on, o.state, o.source) for o in owed_by(who, asked, DAY, SOON, examines=True)] == [
        ("test of near vision", date(2026, 3, 20), "due soon", f"{PROCEDURE}, paragraph 2.2"),
        ("test of colour vision", None, "never done", "procedure ET-BH-01 issue D, paragraph 2.3"),
        ("qualification ET level 3", date(2028, 1, 31), "not due", "scheme"),
    ]
    assert [(o.what, o.state) for o in owed_by(Examiner("ORLA"), asked, DAY, SOON, examines=False)] == []
    assert [o.what for o in owed_by(Examiner("WREN"), asked, DAY, SOON, examines=True)] == [
        "test of near vision", "test of colour vision", "qualification ET level 2 at least",
    ]  # fmt: skip


DAYS = st.dates(date(2024, 1, 1), date(2028, 12, 31))
HELDS = st.builds(
    lambda m, n, s, a, d: Held(m, n, s, "scheme", a, a + timedelta(days=d), "Q"),
    st.sampled_from(("ET", "UT")),
    st.integers(1, 3),
    st.sampled_from(("", "aerospace")),
    DAYS,
    st.integers(0, 1500),
)
SIGHTS = st.builds(
    lambda k, t, p, d: Sight(k, t, p, t + timedelta(days=d) if p else None, "practice", "V"),
    st.sampled_from(KINDS_OF_VISION),
    DAYS,
    st.booleans(),
    st.integers(0, 800),
)
ASKED = st.builds(
    Requirements,
    vision=st.sampled_from(
        ((), ASKS.vision, COLOUR.vision, (Vision("near vision", None, "2"), Vision("colour", 60, "3")))
    ),
    qualification=st.sampled_from((None, NEEDS, QualificationNeeded("ET", 1, "aerospace", "2.1"))),
)
PEOPLE = st.builds(
    Examiner, st.just("TAM"), st.lists(HELDS, max_size=4).map(tuple), st.lists(SIGHTS, max_size=4).map(tuple)
)


@given(PEOPLE, ASKED, DAYS)
def test_what_the_procedure_asks_for_is_met_by_what_is_on_record_or_the_signature_stops(
    who: Examiner, asked: Requirements, day: date
) -> None:
    """A brute-force statement of the rule in days: each thing asked for holds on that very day, or something stops."""
    q = asked.qualification
    if q is not None:
        met = [
            h
            for h in who.held
            if h.method == q.method and h.level >= q.level and h.sector in ((q.sector,) if q.sector else ("", "aerospace"))
        ]  # fmt: skip
        assert ("qualification" in _stopped(who, asked, day)) is not any(
            h.authorised_on <= day <= h.expires_on for h in met
        )
    for v in asked.vision:
        tests = [(t.tested_on, n, t) for n, t in enumerate(who.sight) if t.kind == v.kind and t.tested_on <= day]
        newest = max(tests, key=lambda t: t[:2], default=None)
        good = newest is not None and newest[2].passed and newest[2].expires_on is not None
        good = good and day <= newest[2].expires_on  # type: ignore[index, operator]
        if good and v.every_months:
            tested = newest[0]  # type: ignore[index]
            months = (day.year - tested.year) * 12 + day.month - tested.month
            end_of_month = (day + timedelta(days=1)).month != day.month
            good = months < v.every_months or (
                months == v.every_months and (day.day <= tested.day or (end_of_month and day.day < tested.day))
            )
        assert (v.kind in _stopped(who, asked, day)) is not good


def _stopped(who: Examiner, asked: Requirements, day: date) -> set[str]:
    return {r.rule for r in against_signing(signing_reasons(who, asked, PROCEDURE, day, SOON))}


@given(PEOPLE, ASKED, DAYS)
def test_to_ask_for_nothing_never_stops_more(who: Examiner, asked: Requirements, day: date) -> None:
    assert _stopped(who, NONE, day) <= _stopped(who, asked, day) | ({"qualification"} if asked.qualification is None else set()) | {
        k for k in KINDS_OF_VISION if k not in {v.kind for v in asked.vision}
    }  # fmt: skip


@given(PEOPLE, ASKED, DAYS, st.randoms())
def test_the_order_of_qualifications_on_record_changes_nothing(
    who: Examiner, asked: Requirements, day: date, dice: object
) -> None:
    mixed = list(who.held)
    dice.shuffle(mixed)  # type: ignore[attr-defined]
    assert _stopped(Examiner(who.code, tuple(mixed), who.sight), asked, day) == _stopped(who, asked, day)


@given(PEOPLE, ASKED, DAYS, HELDS)
def test_another_qualification_takes_away_a_stop_or_leaves_it_where_the_procedure_names_one(
    who: Examiner, asked: Requirements, day: date, more: Held
) -> None:
    if asked.qualification is not None:
        assert _stopped(Examiner(who.code, (*who.held, more), who.sight), asked, day) <= _stopped(who, asked, day)
