"""What a changed order of rotation and gain leaves in doubt: checks taken as acceptable with the display undone the other way."""

from itertools import takewhile

from sqlalchemy import select

from refstd.desk.check_facts import timed_lots
from refstd.desk.check_values import SWAP_TEST
from refstd.desk.findings import held_lots, keep_finding
from refstd.desk.starts import timed_checks
from refstd.register.checks import BaselineSet, CheckReason, ResponseCheck, Setup
from refstd.register.equipment import Equipment, EquipmentRevision, InstrumentDescription
from refstd.register.findings import ExaminedLot
from refstd.register.lab import Change, Look
from refstd.register.revisions import standing
from refstd.rules.figures import UNDONE
from refstd.rules.response import Outcome
from refstd.rules.timeline import TimedLot, line_of


def question_checks(change: Change, item: Equipment) -> tuple[str, ...]:
    """Open a finding on the acceptable checks that rest on the order on record so far, and return its number, or nothing.

    To be asked after the instrument's next description is added, when its order is another one. The finding names the
    checks since the old order was set, and holds the lots examined under them.
    """
    *earlier, (after, _) = _orders(change, item.id)
    before = earlier[-1][0] if earlier else after
    if before in ("unknown", after):
        return ()
    *_, (_, began) = takewhile(lambda described: described[0] == before, reversed(earlier))
    checks = _resting_on_it(change, item.id, began)
    if not checks:
        return ()
    days = sorted(c.happened_at for c in checks)
    first, last = (f"{d.astimezone(change.zone):%Y-%m-%d}" for d in (days[0], days[-1]))
    says = (
        f"{item.asset_no} was taken to work {before}, and now {after}. These acceptable checks of {first} to {last} rest on a "
        f"display undone the old way; look at each again: {', '.join(c.number for c in checks)}"
    )
    return (keep_finding(change, "other", says, lots=_lots_under(change, checks)),)


def _orders(look: Look, instrument_id: int) -> list[tuple[str, int]]:
    """Return the order of each description of an instrument with its log entry, oldest first."""
    rows = look.session.execute(
        select(InstrumentDescription.display_order, EquipmentRevision.entry)
        .join(EquipmentRevision, EquipmentRevision.id == InstrumentDescription.equipment_revision_id)
        .where(EquipmentRevision.equipment_id == instrument_id)
        .order_by(EquipmentRevision.revision)
    )
    return [(order, entry) for order, entry in rows]


def _resting_on_it(look: Look, instrument_id: int, since_entry: int) -> list[ResponseCheck]:
    """Return the acceptable checks kept since a log entry in which a limit was judged on a display undone, oldest first.

    With equal gains in all that was compared both orders undo alike, and such a check is left alone.
    """
    undone = select(CheckReason.check_id).where(
        CheckReason.comparison == "job", CheckReason.figure.contains(f"({UNDONE})")
    )
    rows = look.session.execute(
        standing(
            ResponseCheck, look.upto, ResponseCheck.outcome == Outcome.ACCEPTABLE, ResponseCheck.occasion != SWAP_TEST,
            ResponseCheck.entry > since_entry, ResponseCheck.id.in_(undone),
            ResponseCheck.setup_id.in_(select(Setup.id).where(Setup.instrument_id == instrument_id)),
        )
    ).scalars()  # fmt: skip
    found = [c for c in rows if any(x.horizontal_gain_db != x.vertical_gain_db for x in _compared(look, c))]
    return sorted(found, key=lambda c: (c.happened_at, c.id))


def _compared(look: Look, check: ResponseCheck) -> list[ResponseCheck]:
    """Return a check with the start check and the set-ups of the baseline that it was held against."""
    sets = select(BaselineSet.check_id).where(BaselineSet.baseline_id == check.baseline_id)
    past = select(ResponseCheck).where((ResponseCheck.id == check.start_check_id) | ResponseCheck.id.in_(sets))
    return [check, *look.session.execute(past).scalars()]


def _lots_under(look: Look, checks: list[ResponseCheck]) -> tuple[ExaminedLot, ...]:
    """Return the lots examined under the start checks that these checks are or follow, which no finding holds."""
    held = held_lots(look)
    found: dict[int, TimedLot] = {}
    for check in checks:
        start = check.id if check.occasion == "start" else check.start_check_id
        if check.job_id is None or start is None:
            continue
        line = line_of(timed_checks(look, check.job_id, check.setup_id), start)
        found |= {x.id: x for x in timed_lots(look, check.job_id) if x.start_id in line and x.id not in held}
    return tuple(look.session.get_one(ExaminedLot, i) for i in found)
