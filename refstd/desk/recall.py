"""Calibration recall: what to send where by which day, how much that is month by month, and what it leaves without."""

from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta

from refstd.base.reason import Reason
from refstd.base.text import key
from refstd.desk.at_work import at_work
from refstd.desk.duties import NOT_IN_USE, OWN, DueRow, due_within
from refstd.desk.items import ItemShown, items
from refstd.desk.jobs import JobShown, jobs_in
from refstd.desk.kits import serving
from refstd.desk.serviceability import status_of
from refstd.register.lab import Lab, Look, When
from refstd.rules.owners import not_ours
from refstd.rules.recall import Going, Need, left_without, still_at_work
from refstd.rules.verdict import Standing

MONTHS = 3
MOST_MONTHS = 60
AT_ONCE = "at once"
UNKNOWN = "laboratory not on record"
_LEFT_OUT = ("stored", "away at laboratory")


@dataclass(frozen=True, slots=True)
class Recalled:
    """A duty that sends an item away. month: such as '2026-03', or 'at once' for what is late or never done.

    valid_until: the last day of validity, by date or, as estimated, by use; None where it is wanted at once without a date.
    """

    laboratory: str
    due: DueRow
    month: str
    valid_until: date | None
    serial_no: str
    where: str
    warnings: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class MonthLoad:
    """How many items go in a month, to which laboratory how many, and how many are done here."""

    month: str
    items: int
    by_laboratory: tuple[tuple[str, int], ...]
    here: int

    def in_words(self) -> str:
        to = ", ".join(f"{name} {n}" for name, n in self.by_laboratory)
        return f"{self.items} to send" + (f" ({to})" if to else "") + (f", {self.here} done here" if self.here else "")


@dataclass(frozen=True, slots=True)
class Recall:
    """What to send, grouped by laboratory and in it by day; the load; and what is left out, with why."""

    through: date
    months: int
    sent: tuple[Recalled, ...]
    load: tuple[MonthLoad, ...]
    left_out: tuple[tuple[str, str], ...]  # asset number and state


def recall(lab: Lab, when: When, months: int = MONTHS) -> Recall:
    """Return what is to be sent away to the end of so many months after this one (0 to 60)."""
    with lab.look(when) as look:
        return recall_within(look, months)


def recall_within(look: Look, months: int = MONTHS) -> Recall:
    """Return the recall within a look."""
    through = look.today.replace(day=1) + relativedelta(months=months + 1, days=-1)
    by_number = {i.asset_no: i for i in items(look).values()}
    left_out: dict[str, str] = {}
    away: list[Recalled] = []
    here: list[DueRow] = []
    for row in due_within(look, within_days=(through - look.today).days):
        if _is_own(look, row.done_by):
            here += [row] if row.item_state not in _LEFT_OUT else []
        elif row.item_state in _LEFT_OUT:
            left_out[row.asset_no] = row.item_state
        else:
            away.append(_recalled(look, row, by_number[row.asset_no]))
    for item in by_number.values():  # what is away may owe nothing before it is back
        if item.state == _LEFT_OUT[1]:
            left_out[item.asset_no] = item.state
    found = _warned(look, away, by_number)
    return Recall(
        through, months,
        tuple(sorted(found, key=lambda r: (r.laboratory == UNKNOWN, key(r.laboratory), r.month != AT_ONCE, r.valid_until or date.min, r.due.asset_no))),
        _load(look, found, here, through), tuple(sorted(left_out.items())),
    )  # fmt: skip


def _recalled(look: Look, row: DueRow, item: ItemShown) -> Recalled:
    late = row.state in ("never done", "overdue", "before use")
    day = row.first_on
    where = item.location
    if item.loan:
        where = f"out to {item.loan.holder} for job {item.loan.job}, due back {item.loan.due_back_on}"
    if item.state != "in service":
        where = f"{item.state}, {where}" if where else item.state
    to = row.done_by or UNKNOWN if item.ours_to_recalibrate else not_ours(item.owner)
    return Recalled(to, row, _month(day, late), day, item.serial_no, where, ())


def _month(day: date | None, late: bool) -> str:
    return AT_ONCE if late or day is None else f"{day:%Y-%m}"


def _is_own(look: Look, laboratory: str) -> bool:
    """Return whether a duty is done in the house: then nothing is sent."""
    name, own = key(laboratory), key(look.lab_name)
    return name.startswith(key(OWN)) or name == own or name.startswith(f"{own},")


def _warned(look: Look, sent: list[Recalled], by_number: dict[str, ItemShown]) -> list[Recalled]:
    """Add to each what its going leaves without, and, where it goes this month, that it is at work."""
    goes = {
        id(r): Going(r.due.asset_no, look.today if r.month == AT_ONCE else r.valid_until or look.today) for r in sent
    }
    left = left_without(_needs(look), list(goes.values()))
    busy = at_work(look)
    warned = []
    for r in sent:
        item = by_number[r.due.asset_no]
        reasons = list(left.get(goes[id(r)], ()))
        if item.equipment_id in busy and r.month in (AT_ONCE, f"{look.today:%Y-%m}"):
            reasons.append(still_at_work(item.asset_no, busy[item.equipment_id]))
        warned.append(Recalled(r.laboratory, r.due, r.month, r.valid_until, r.serial_no, r.where, tuple(reasons)))
    return warned


def _needs(look: Look) -> list[Need]:
    """Return what wants equipment: each open job by kind, each material that has blocks."""
    needs = []
    for job in jobs_in(look, only_open=True):
        ended = job.ends_on < look.today
        for kind, numbers in serving(look, job).items():
            until = None if ended else job.ends_on
            needs.append(Need(_job_words(job, ended), kind, numbers, f"job {job.number}, {job.procedure.name}", until))
    blocks: dict[str, set[str]] = {}
    for number, item in items(look).items():
        if item.material is not None and item.state not in NOT_IN_USE:
            served = blocks.setdefault(item.material.code, set())
            if status_of(look, number).verdict.standing is not Standing.DO_NOT_USE:
                served.add(item.asset_no)
    needs += [Need(f"material {code}", "block", frozenset(served), "register") for code, served in blocks.items()]
    return needs


def _job_words(job: JobShown, ended: bool) -> str:
    days = f"{job.starts_on} to {job.ends_on}" + (", still open" if ended else "")
    return f"job {job.number} ({job.material.code} {job.form}, {days})"


def _load(look: Look, sent: list[Recalled], here: list[DueRow], through: date) -> tuple[MonthLoad, ...]:
    """Return the load of every month to the last, those without work too; first what is wanted at once."""
    months, first = [AT_ONCE], look.today.replace(day=1)
    while first <= through:
        months.append(f"{first:%Y-%m}")
        first += relativedelta(months=1)
    load = []
    for month in months:
        pairs = {(r.laboratory, r.due.asset_no) for r in sent if r.month == month}
        names = sorted({name for name, _ in pairs}, key=lambda n: (n == UNKNOWN, key(n)))
        by_laboratory = tuple((name, sum(1 for n, _ in pairs if n == name)) for name in names)
        done_here = {
            r.asset_no for r in here if _month(r.first_on, r.state in ("never done", "overdue", "before use")) == month
        }
        load.append(MonthLoad(month, len({number for _, number in pairs}), by_laboratory, len(done_here)))
    return tuple(load)
