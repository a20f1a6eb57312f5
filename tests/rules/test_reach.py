"""What an item had a part in: nothing that was examined with it is left out, and nothing else stands there."""

from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from refstd.rules.reach import Kits
from refstd.rules.timeline import TimedCheck, TimedLot, line_of

DAY = datetime(2031, 3, 14, 8, tzinfo=UTC)
ITEMS = (1, 2, 3, 4)


def at(minutes: int) -> datetime:
    return DAY + timedelta(minutes=minutes)


@st.composite
def histories(draw: st.DrawFn) -> tuple[tuple[TimedCheck, ...], tuple[TimedLot, ...]]:
    """Return checks of any kits, some under a start, some correcting one, and lots under starts, in no order of time."""
    checks: list[TimedCheck] = []
    starts: list[int] = []
    for number in range(1, draw(st.integers(1, 9)) + 1):
        kit = frozenset(draw(st.sets(st.sampled_from(ITEMS), min_size=1, max_size=3)))
        kind = draw(st.sampled_from(("start", "interim", "correction")))
        minutes = draw(st.integers(0, 100))
        free = [c for c in checks if c.id not in {x.supersedes_id for x in checks}]
        if kind == "correction" and free:
            old = draw(st.sampled_from(free))
            checks.append(
                TimedCheck(
                    number, f"C-{number}", old.occasion, "acceptable", old.happened_at, old.start_id, old.id, None, kit
                )
            )
            starts += [number] if old.occasion == "start" else []
        elif kind == "interim" and starts:
            start = draw(st.sampled_from(starts))
            checks.append(TimedCheck(number, f"C-{number}", "interim", "acceptable", at(minutes), start, items=kit))
        else:
            checks.append(TimedCheck(number, f"C-{number}", "start", "acceptable", at(minutes), items=kit))
            starts.append(number)
    examined = draw(st.lists(st.tuples(st.integers(0, 100), st.sampled_from(starts)), max_size=8))
    return tuple(checks), tuple(TimedLot(i, f"L-{i}", at(m), s) for i, (m, s) in enumerate(examined, start=1))


@given(histories(), st.sampled_from(ITEMS), st.integers(0, 100), st.integers(0, 100))
def test_the_look_back_from_an_item_is_a_brute_force_look_at_every_check_and_lot(
    history: tuple[tuple[TimedCheck, ...], tuple[TimedLot, ...]], item: int, first: int, last: int
) -> None:
    """Among them follow-up checks with another cable, and a lot under a corrected start."""
    checks, lots = history
    since, until = at(min(first, last)), at(max(first, last))
    kits = Kits(checks)

    corrected = [c.supersedes_id for c in checks]
    made = {c.id for c in checks if item in c.items and since <= c.happened_at <= until and c.id not in corrected}
    assert {c.id for c in kits.checks_with(item, since, until)} == made

    examined = set()
    for lot in lots:
        line = line_of(checks, lot.start_id)
        together = [c for c in checks if c.id in line or c.start_id in line]
        if any(item in c.items for c in together) and since <= lot.examined_at <= until:
            examined.add(lot.id)
    assert {x.id for x in kits.lots_with(lots, item, since, until)} == examined


@given(histories(), st.sampled_from(ITEMS))
def test_both_ways_agree(history: tuple[tuple[TimedCheck, ...], tuple[TimedLot, ...]], item: int) -> None:
    """From the item to a lot exactly where the kit of that lot has the item."""
    checks, lots = history
    kits = Kits(checks)
    assert {x.id for x in kits.lots_with(lots, item, None, at(100))} == {
        x.id for x in lots if item in kits.under(x.start_id)
    }
