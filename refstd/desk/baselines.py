"""Baselines: accepted responses of a setup from several independent set-ups, frozen; replaced only with a reason."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from pydantic import Field
from sqlalchemy import delete, select

from refstd.base.errors import Problem, Refusal
from refstd.desk.checks import CheckDraft, ReadingDraft, keep_check
from refstd.desk.entry import Draft, Number, Words, refuse_if
from refstd.desk.happened import events_of, members
from refstd.desk.known import named
from refstd.desk.people import code_of, may, someone
from refstd.desk.setups import baseline_of
from refstd.register.checks import Baseline, BaselineCurrent, BaselineSet, Reading, ResponseCheck, Setup
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.revisions import standing
from refstd.rules.authority import refuse_own


class BaselineDraft(Draft):
    """A baseline to set from set-up checks on record."""

    setup: Number
    approved_by: Number = Field(description="level 2 or responsible level 3, not the one who took the readings")
    why: Words = Field("", description="needed when it replaces one")


@dataclass(frozen=True, slots=True)
class BaselineShown:
    """A baseline as on record."""

    setup: str
    person: str
    approved_by: str
    happened_at: datetime
    checks: tuple[str, ...]
    why: str


def set_baseline(
    lab: Lab, draft: BaselineDraft, checks: Sequence[str], *, by: str, now: datetime, operation: str = ""
) -> None:
    """Freeze a baseline from set-up checks on record."""
    with lab.change(by=by, now=now, operation=operation) as change:
        rows = [named(change, ResponseCheck, number) for number in checks]
        keep_baseline(change, draft, rows)
        change.record("baseline set", setup=draft.setup, set_ups=len(rows))


def set_baseline_from_readings(
    lab: Lab,
    draft: BaselineDraft,
    sets: Sequence[tuple[CheckDraft, Sequence[ReadingDraft]]],
    *,
    by: str,
    now: datetime,
    operation: str = "",
) -> tuple[str, ...]:
    """Keep several set-ups and freeze the baseline from them, all in one act; return the numbers of the set-ups."""
    with lab.change(by=by, now=now, operation=operation) as change:
        numbers = [keep_check(change, check, readings).number for check, readings in sets]
        keep_baseline(change, draft, [named(change, ResponseCheck, n) for n in numbers])
        change.record("baseline set", setup=draft.setup, set_ups=len(numbers))
        return tuple(numbers)


def keep_baseline(change: Change, draft: BaselineDraft, checks: Sequence[ResponseCheck]) -> None:
    """Add the rows of a baseline."""
    setup = named(change, Setup, draft.setup)
    approver = someone(change, draft.approved_by)
    may(change, "approve a baseline", approver)
    for check in checks:
        refuse_own("approve this baseline", code=approver.code, maker=code_of(change, check.person_id))
    refuse_if(_problems(change, setup, checks), f"baseline of {setup.number}")
    before = baseline_of(change, setup.id)
    if before is not None and not draft.why:
        raise Refusal(
            f"setup {setup.number} has a baseline", "", "It is replaced only with a reason: give it with --why."
        )
    baseline = change.add(
        Baseline(
            setup_id=setup.id, person_id=change.by.person_id, approved_by_id=approver.person_id,
            supersedes_id=before.id if before else None, why=draft.why, happened_at=change.instant,
        )
    )  # fmt: skip
    for check in checks:
        change.add(BaselineSet(baseline_id=baseline.id, check_id=check.id))
    change.session.execute(delete(BaselineCurrent).where(BaselineCurrent.setup_id == setup.id))
    change.session.add(BaselineCurrent(setup_id=setup.id, baseline_id=baseline.id))
    change.session.flush()


def _problems(change: Change, setup: Setup, checks: Sequence[ResponseCheck]) -> list[Problem]:
    """Return what keeps checks from being independent set-ups of one setup."""
    problems = []
    if len(checks) < 2:
        problems.append(Problem("set-ups", f"{len(checks)} is too few", "Null and set up anew at least twice."))
    notches = {frozenset(_notches(change, c)) for c in checks}
    if len(notches) > 1:
        problems.append(Problem("set-ups", "did not read the same notches", "Read the same notches each time."))
    taken = sorted(c.happened_at for c in checks)
    for event in events_of(change, members(setup)):
        if event.breaks and taken and taken[0] < event.happened_at <= taken[-1]:
            problems.append(
                Problem("set-ups", f"lie before and after {event.in_words()}", "Take all of them after it.")
            )
    instants = set()
    for check in checks:
        where = f"set-up {check.number}"
        if check.setup_id != setup.id:
            problems.append(Problem(where, f"is not of setup {setup.number}", "Choose set-ups of this setup."))
        later = change.session.execute(
            select(ResponseCheck.number).where(ResponseCheck.supersedes_id == check.id)
        ).scalar()
        if later is not None:
            problems.append(Problem(where, f"was corrected by {later}", f"Choose {later}."))
        if check.occasion != "set-up":
            problems.append(Problem(where, f"is a {check.occasion} check", "A baseline rests on occasions 'set-up'."))
        if not (check.nulled and check.phase_set):
            problems.append(
                Problem(where, "was not nulled and set anew", "Each set-up is independent: null, set phase and gain.")
            )
        if check.happened_at in instants:
            problems.append(Problem(where, "has the instant of another set-up", "Give each its own instant."))
        instants.add(check.happened_at)
        used = change.session.execute(select(BaselineSet.id).where(BaselineSet.check_id == check.id)).first()
        if used is not None:
            problems.append(Problem(where, "belongs to a baseline already", "Take a new set-up."))
    return problems


def _notches(change: Change, check: ResponseCheck) -> list[int]:
    return list(change.session.execute(select(Reading.notch_id).where(Reading.check_id == check.id)).scalars())


def baseline_shown(lab: Lab, setup: str, when: When) -> BaselineShown | None:
    """Return the baseline of a setup in force, or None."""
    with lab.look(when) as look:
        row = named(look, Setup, setup)
        return shown_baseline(look, row)


def shown_baseline(look: Look, setup: Setup) -> BaselineShown | None:
    """Return the baseline of a setup in force, within a look."""
    baseline = baseline_of(look, setup.id)
    if baseline is None:
        return None
    numbers = look.session.execute(
        select(ResponseCheck.number)
        .join(BaselineSet, BaselineSet.check_id == ResponseCheck.id)
        .where(BaselineSet.baseline_id == baseline.id)
        .order_by(ResponseCheck.id)
    ).scalars()
    return BaselineShown(
        setup.number, code_of(look, baseline.person_id), code_of(look, baseline.approved_by_id), baseline.happened_at,
        tuple(numbers), baseline.why,
    )  # fmt: skip


def waiting_set_ups(lab: Lab, setup: str, when: When) -> tuple[str, ...]:
    """Return the set-up checks of a setup that belong to no baseline yet, oldest first."""
    with lab.look(when) as look:
        row = named(look, Setup, setup)
        used = select(BaselineSet.check_id).where(BaselineSet.entry <= look.upto)
        rows = look.session.execute(
            standing(
                ResponseCheck, look.upto, ResponseCheck.setup_id == row.id, ResponseCheck.occasion == "set-up",
                ResponseCheck.id.not_in(used),
            )
        ).scalars()  # fmt: skip
        numbers = [c.number for c in rows]
        return tuple(numbers)
