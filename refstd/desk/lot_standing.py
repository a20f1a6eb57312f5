"""How the examined lots of a job stand: held by which finding, in doubt since which event, or waiting for a check."""

from dataclasses import dataclass

from sqlalchemy import select

from refstd.desk.check_facts import timed_lots
from refstd.desk.findings import finding_shown
from refstd.desk.happened import events_of
from refstd.desk.known import named
from refstd.desk.starts import timed_checks, timed_events
from refstd.register.checks import ResponseCheck
from refstd.register.findings import Finding, FindingHold
from refstd.register.lab import Lab, Look, When
from refstd.register.procedures import Job
from refstd.rules.events import Happened
from refstd.rules.timeline import events_under, lots_uncovered


@dataclass(frozen=True, slots=True)
class LotStanding:
    """What stands against a lot in words, '' where a check covers it; the finding that holds it or held it, and the
    event behind that, as reference and asset number."""

    says: str = ""
    finding: str = ""
    event: str = ""

    @property
    def opens(self) -> tuple[tuple[str, str], ...]:
        """Return the records behind it, each as kind and number."""
        return tuple((kind, number) for kind, number in (("finding", self.finding), ("event", self.event)) if number)


def lots_standing(lab: Lab, job: str, when: When) -> dict[str, LotStanding]:
    """Return, by number, how each lot of a job stands."""
    with lab.look(when) as look:
        return lots_standing_within(look, named(look, Job, job).id)


def lots_standing_within(look: Look, job_id: int) -> dict[str, LotStanding]:
    """Return the same within a look."""
    found: dict[str, LotStanding] = {}
    lots, holding = timed_lots(look, job_id), _holding(look)
    setups = select(ResponseCheck.setup_id).where(ResponseCheck.job_id == job_id, ResponseCheck.entry <= look.upto)
    for setup_id in look.session.execute(setups.distinct()).scalars():
        checks = timed_checks(look, job_id, setup_id)
        events, known = timed_events(look, checks), {c.id for c in checks}
        for lot in lots:
            if lot.start_id not in known:
                continue
            if lot.id in holding:
                found[lot.number] = _held(look, holding[lot.id])
            elif lots_uncovered(checks, events, (lot,), lot.start_id):
                under = events_under(checks, events, lot.start_id, look.instant)
                found[lot.number] = _in_doubt(look, under[0]) if under else LotStanding("waits for a check")
            else:
                found[lot.number] = LotStanding()
    return found


def _holding(look: Look) -> dict[int, Finding]:
    """Return, by lot, the newest finding that holds it or held it."""
    query = (
        select(FindingHold.lot_id, Finding)
        .join(Finding, Finding.id == FindingHold.finding_id)
        .where(FindingHold.lot_id.is_not(None), FindingHold.entry <= look.upto)
        .order_by(Finding.id)
    )
    return {lot_id: finding for lot_id, finding in look.session.execute(query) if lot_id is not None}


def _held(look: Look, row: Finding) -> LotStanding:
    shown = finding_shown(look, row)
    word = f"released, was held by {row.number}" if shown.released else f"held by {row.number}"
    return LotStanding(f"{word}: {row.says}", row.number, shown.event)


def _in_doubt(look: Look, event: Happened) -> LotStanding:
    says = f"in doubt until an end check, since {event.in_words()}"
    for e in events_of(look, [event.equipment_id]):
        if (e.event, e.happened_at) == (event.event, event.happened_at):
            return LotStanding(says, "", f"{e.ref} {event.asset_no}")
    return LotStanding(says)  # a hand-over is on the job's page, not an event of an item
