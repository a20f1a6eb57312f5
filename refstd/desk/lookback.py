"""What a finding leaves in doubt: the period, the lots examined in it, and what is held."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.desk.findings import FindingShown, finding_shown, lots_in_doubt
from refstd.desk.store import Lab, When, standpoint
from refstd.register.checks import ResponseCheck
from refstd.register.findings import Finding
from refstd.register.lab import Look


@dataclass(frozen=True, slots=True)
class LookBack:
    """A finding with the period it puts in doubt: from the last acceptable check of the same start, if there is one."""

    finding: FindingShown
    since: datetime | None
    since_record: str
    until: datetime
    as_at: str
    log_sequence: int


def lookback(lab: Lab, number: str, when: When) -> LookBack:
    """Return what a finding (or the finding that followed on a check) leaves in doubt, or refuse the number."""
    with lab.look(when) as look:
        finding, check = _found(look, number)
        shown = finding_shown(look, finding)
        at = standpoint(look)
        since, record, until = None, "", finding.happened_at
        if check is not None:
            until = check.happened_at
            start = look.session.get(ResponseCheck, check.start_check_id) if check.start_check_id else None
            if start is not None:
                _, good = lots_in_doubt(look, start, check.happened_at)
                since, record = good.happened_at, f"check {good.number}, the last acceptable one"
        return LookBack(shown, since, record, until, at.as_at, at.log_sequence)


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
