"""What a finding leaves in doubt: the period, the lots examined in it, the checks and comparisons in it, and what is held."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, time

from sqlalchemy import ColumnElement, and_, or_, select

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.desk.check_values import SWAP_TEST
from refstd.desk.doubt import (
    CheckBetween,
    ComparisonBetween,
    checks_between,
    checks_in,
    comparisons_in,
    lots_in,
    stretch_of,
)
from refstd.desk.findings import FindingShown, finding_shown, lots_left_in_doubt
from refstd.desk.jobs import LotShown, lots_of
from refstd.desk.papers import standing_certificates
from refstd.desk.store import Lab, When, standpoint
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import Loan, LoanReturn
from refstd.register.equipment import Equipment
from refstd.register.findings import Finding
from refstd.register.lab import Look
from refstd.register.revisions import standing

Since = tuple[datetime | None, str]


@dataclass(frozen=True, slots=True)
class LookBack:
    """A finding with the period that it puts in doubt and the lots examined in that period.

    `since` is the last record that shows the equipment sound before the finding (`since_record` names it), None where
    there is none: then everything before the finding is in doubt. Checks within the period are evidence for the
    decision and do not shorten it. `comparisons` are those that the item served in it, of other blocks.
    """

    finding: FindingShown
    since: datetime | None
    since_record: str
    until: datetime
    lots: tuple[LotShown, ...]
    as_at: str
    log_sequence: int
    zone: str  # the lab's
    checks: tuple[CheckBetween, ...] = ()
    comparisons: tuple[ComparisonBetween, ...] = ()

    def period_in_words(self, local: Callable[[datetime], str]) -> str:
        """Return the period; local: an instant as shown in the lab's zone."""
        if self.since is None:
            return f"everything up to {local(self.until)}; no record shows it sound before"
        return f"from {local(self.since)} ({self.since_record}) to {local(self.until)}"

    @property
    def jobs(self) -> tuple[str, ...]:
        """Return the jobs that were worked on in the period, in the order of their lots and checks."""
        return tuple(dict.fromkeys((*(x.job for x in self.lots), *(c.job for c in self.checks if c.job))))


def lookback(lab: Lab, number: str, when: When) -> LookBack:
    """Return what a finding (or the finding that followed on a check) leaves in doubt, or refuse the number.

    By cause: a failed job check goes back to the last acceptable check of the same start; what was found out of tolerance,
    by a certificate, a comparison or on receipt, to the last paper that left it in tolerance; a certificate that was
    corrected or withdrawn, to its own day; another one, to the calibration before the newest one; everything else, to when
    the item or setup was last seen sound: an acceptable check with it, or its return in sound condition.
    """
    with lab.look(when) as look:
        finding, check = _found(look, number)
        shown, at = finding_shown(look, finding), standpoint(look)
        stretch = stretch_of(look, finding)
        if stretch is not None:
            lots = tuple(s for _, s in lots_of(look, ids={x.id for x in lots_in(look, stretch)}))
            return LookBack(
                shown, stretch.since, stretch.since_record, stretch.until, lots, at.as_at, at.log_sequence, at.zone,
                checks_in(look, stretch), comparisons_in(look, stretch),
            )  # fmt: skip
        until = check.happened_at if check is not None else finding.happened_at
        of_job = check is not None and check.job_id is not None and check.outcome == "not acceptable"
        left = lots_left_in_doubt(look, check) if check is not None and of_job else None
        if check is not None and left is not None:
            in_doubt, good = left
            since = good.happened_at if good else None
            record = f"check {good.number}, the last acceptable one" if good else ""
            ids = {lot.id for lot in in_doubt}
            lots = tuple(s for _, s in lots_of(look, ids=ids))
            same = and_(ResponseCheck.setup_id == check.setup_id, ResponseCheck.job_id == check.job_id)
            made = _checks_between(look, same, since, until)
            return LookBack(shown, since, record, until, lots, at.as_at, at.log_sequence, at.zone, made)
        paper = look.session.get(Certificate, finding.certificate_id) if finding.certificate_id else None
        used = _used(look, shown)
        if shown.cause == "certificate" and paper is not None:
            found = _day_of(look, paper)
        elif shown.cause == "certificate":
            found = _calibration_before(look, shown, until)
        else:
            found = _last_sound(look, shown, used, until)
        lots = _lots_between(look, used, found[0], until) if _any(look, used) else shown.lots
        made = _checks_between(look, used, found[0], until)
        return LookBack(shown, *found, until, lots, at.as_at, at.log_sequence, at.zone, made)


def _found(look: Look, number: str) -> tuple[Finding, ResponseCheck | None]:
    wanted = key(number)
    finding = look.session.execute(
        select(Finding).where(Finding.number_key == wanted, Finding.entry <= look.upto)
    ).scalar_one_or_none()
    if finding is not None:
        return finding, look.session.get(ResponseCheck, finding.check_id) if finding.check_id else None
    check = look.session.execute(
        select(ResponseCheck).where(ResponseCheck.number_key == wanted, ResponseCheck.entry <= look.upto)
    ).scalar_one_or_none()
    if check is None:
        raise NotFound(
            f"neither a finding nor a check with the number '{safe(number)}' is on record",
            "",
            "See `refstd list findings`.",
        )
    finding = look.session.execute(
        select(Finding).where(Finding.check_id == check.id, Finding.entry <= look.upto)
    ).scalar_one_or_none()
    if finding is None:
        raise NotFound(
            f"check {check.number} ({check.outcome}) left nothing in doubt",
            "",
            "Only a check that is not acceptable opens a finding.",
        )
    return finding, check


def _used(look: Look, finding: FindingShown) -> ColumnElement[bool]:
    """Return which checks were made with what a finding is about: the setups it holds, and the items it holds, a cable or
    an adapter included."""
    about = (*finding.items, *([finding.asset_no] if finding.cause == "certificate" else []))
    rows = look.session.execute(select(Equipment.id).where(Equipment.asset_no.in_(about)))
    held = list(rows.scalars())
    part = or_(Setup.block_id.in_(held), Setup.probe_id.in_(held), Setup.instrument_id.in_(held))
    query = select(Setup.id).where(Setup.entry <= look.upto, or_(part, Setup.number.in_(finding.setups)))
    setups = list(look.session.execute(query).scalars())
    return or_(ResponseCheck.setup_id.in_(setups), ResponseCheck.cable_id.in_(held), ResponseCheck.adapter_id.in_(held))


def _any(look: Look, used: ColumnElement[bool]) -> bool:
    made = select(ResponseCheck.id).where(used, ResponseCheck.entry <= look.upto).limit(1)
    return look.session.execute(made).first() is not None


def _last_sound(look: Look, finding: FindingShown, used: ColumnElement[bool], until: datetime) -> Since:
    good = look.session.execute(
        standing(
            ResponseCheck, look.upto, used, ResponseCheck.outcome == "acceptable",
            ResponseCheck.happened_at < until, ResponseCheck.occasion != SWAP_TEST,
        )
    ).scalars()  # fmt: skip
    check = max(good, key=lambda c: (c.happened_at, c.id), default=None)
    back = look.session.execute(
        select(LoanReturn)
        .join(Loan, Loan.id == LoanReturn.loan_id)
        .join(Equipment, Equipment.id == Loan.equipment_id)
        .where(
            Equipment.asset_no.in_(finding.items), LoanReturn.sound.is_(True), LoanReturn.happened_at < until,
            LoanReturn.entry <= look.upto,
        )
        .order_by(LoanReturn.happened_at.desc(), LoanReturn.id.desc())
        .limit(1)
    ).scalar_one_or_none()  # fmt: skip
    if back is not None and (check is None or back.happened_at > check.happened_at):
        return back.happened_at, f"came back {back.condition}"
    return (check.happened_at, f"check {check.number}, the last acceptable one") if check else (None, "")


def _calibration_before(look: Look, finding: FindingShown, until: datetime) -> Since:
    """Return the calibration before the newest one: the one found wrong says nothing good about the time before it."""
    found: list[Since] = []
    for number in look.session.execute(select(Equipment.id).where(Equipment.asset_no.in_(finding.items))).scalars():
        papers = [p for p in standing_certificates(look, number) if p.activity == "calibration"]
        done = [p for p in papers if p.performed_on <= until.astimezone(look.zone).date()]
        if len(done) > 1:
            moment = datetime.combine(done[-2].performed_on, time(), look.zone)
            found.append((moment, f"certificate {done[-2].number}, the calibration before"))
    return min(found, key=lambda s: s[0] or until) if found else (None, "")


def _day_of(look: Look, paper: Certificate) -> Since:
    """Return the day of a paper that is corrected or withdrawn: what was done on its word is in doubt."""
    day = datetime.combine(paper.performed_on, time(), look.zone)
    return day, f"certificate {paper.number}, which said so"


def _checks_between(
    look: Look, used: ColumnElement[bool], since: datetime | None, until: datetime
) -> tuple[CheckBetween, ...]:
    after = () if since is None else (ResponseCheck.happened_at >= since,)
    return checks_between(look, used, ResponseCheck.happened_at <= until, *after)


def _lots_between(
    look: Look, used: ColumnElement[bool], since: datetime | None, until: datetime
) -> tuple[LotShown, ...]:
    """Return the lots of a period under the start checks that these checks are or were compared with: what was plugged in
    between two checks may have been there before the second."""
    made = select(ResponseCheck.id, ResponseCheck.start_check_id).where(used, ResponseCheck.entry <= look.upto)
    starts = {i for row in look.session.execute(made).all() for i in row if i is not None}
    return tuple(
        shown
        for lot, shown in lots_of(look)
        if lot.start_check_id in starts and (since is None or lot.happened_at >= since) and lot.happened_at <= until
    )
