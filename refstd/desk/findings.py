"""Findings: opening them with what they hold, deciding, releasing; and what a failed check leaves in doubt."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk.agreement import BothPapers, both_papers, papers_asked
from refstd.desk.check_facts import timed_lots
from refstd.desk.entry import Draft, NeededWords, OptionalNumber
from refstd.desk.freed import freeing_check
from refstd.desk.happened import event_behind
from refstd.desk.holds import keep_finding as keep_finding
from refstd.desk.jobs import LotShown, lots_of
from refstd.desk.known import named
from refstd.desk.people import code_of, may
from refstd.desk.starts import timed_checks, timed_events
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.equipment import Equipment
from refstd.register.findings import ExaminedLot, Finding, FindingAction, FindingHold
from refstd.register.lab import Lab, Look, When
from refstd.rules.authority import refuse_own
from refstd.rules.timeline import TimedCheck, last_good, lots_failed, start_before


class FindingDraft(Draft):
    """Something wrong, to put on record; it holds the item or setup that it names."""

    cause: Literal["damage", "certificate", "late return", "failed response check", "other"]
    says: NeededWords
    item: OptionalNumber = Field(None, title="asset number to hold")
    setup: OptionalNumber = Field(None, title="setup to hold")


@dataclass(frozen=True, slots=True)
class ActionShown:
    """Something done about a finding."""

    kind: str
    person: str
    authority: str
    says: str
    happened_at: datetime


@dataclass(frozen=True, slots=True)
class FindingShown:
    """A finding as on record."""

    number: str
    cause: str
    says: str
    person: str
    check: str
    happened_at: datetime
    items: tuple[str, ...]
    setups: tuple[str, ...]
    lots: tuple[LotShown, ...]
    actions: tuple[ActionShown, ...]
    freed: tuple[tuple[str, str], ...] = ()  # setups that are free for new work again, and the check that freed each
    asset_no: str = ""  # of the item whose certificate it is about; it need not be held
    certificate: str = ""
    papers: BothPapers | None = None  # where two certificates are held against each other
    event: str = ""  # that its own log entry brought: reference and asset number

    @property
    def released(self) -> bool:
        return any(a.kind == "release" for a in self.actions)

    @property
    def held_setups(self) -> tuple[str, ...]:
        freed = {setup for setup, _ in self.freed}
        return tuple(s for s in self.setups if s not in freed)

    def holds_and_freed(self) -> str:
        """Return what it stops, and which setup is free for new work again by which check, in words."""
        freed = (f"setup {setup} freed for new work by {check}" for setup, check in self.freed)
        return "; ".join((*(self.holds() or ("nothing",)), *freed))

    def in_a_line(self) -> str:
        """Return what is wrong and what it holds, and where to see what is in doubt."""
        return f"finding {self.number} ({self.cause}): {self.says}; holds {self.holds_and_freed()}; see `refstd lookback {self.number}`"

    def holds(self) -> tuple[str, ...]:
        """Return what it stops, in words."""
        return (
            *self.items,
            *(f"setup {s}" for s in self.held_setups),
            *(f"lot {x.number} ({x.examined})" for x in self.lots),
        )


def open_finding(lab: Lab, draft: FindingDraft, *, by: str, now: datetime, operation: str = "") -> str:
    """Put a finding on record and return its number. What it names is held from now on."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "open a finding")
        item = named(change, Equipment, draft.item) if draft.item else None
        setup = named(change, Setup, draft.setup) if draft.setup else None
        if item is None and setup is None:
            raise Refusal("a finding holds something", "", "Name the item or the setup.")
        number = keep_finding(change, draft.cause, draft.says, item=item, setup=setup)
        change.record("finding opened", finding=number)
        return number


def act_on(
    lab: Lab,
    number: str,
    kind: Literal["note", "disposition", "release"],
    says: str,
    *,
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """Note something on a finding, decide it, or release what it holds.

    A disposition and a release need an authority, and never by the person whose check it is. Lots are released only
    after a disposition.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        finding = named(change, Finding, number)
        shown = finding_shown(change, finding)
        if shown.released:
            raise Refusal(f"finding {finding.number} is released already", "", "Nothing to do.")
        if not says.strip():
            raise Refusal("say what was found or decided", finding.number, "Give it with --why.")
        if kind == "note":
            may(change, "open a finding")
        else:
            may(change, "decide a finding" if kind == "disposition" else "release a finding")
            check = change.session.get(ResponseCheck, finding.check_id) if finding.check_id else None
            maker = code_of(change, check.person_id) if check else shown.person
            refuse_own(
                f"{'decide' if kind == 'disposition' else 'release'} finding {finding.number}",
                code=change.by.code,
                maker=maker,
            )
        if kind == "release" and shown.lots and not any(a.kind == "disposition" for a in shown.actions):
            raise Refusal(
                f"finding {finding.number} holds lots that are not decided",
                "",
                "Record the disposition of the lots first.",
            )
        change.add(
            FindingAction(
                finding_id=finding.id, kind=kind, person_id=change.by.person_id,
                authority=", ".join(sorted(change.by.authorities)), says=says.strip(), happened_at=change.instant,
            )
        )  # fmt: skip
        change.record(
            {"note": "finding noted", "disposition": "finding decided", "release": "finding released"}[kind],
            finding=number,
        )


def findings(lab: Lab, when: When, *, only_open: bool = False) -> tuple[FindingShown, ...]:
    """Return the findings on record, oldest first."""
    with lab.look(when) as look:
        return findings_in(look, only_open=only_open)


def finding(lab: Lab, number: str, when: When) -> FindingShown:
    """Return a finding by its number, or refuse."""
    with lab.look(when) as look:
        return finding_within(look, number)


def finding_within(look: Look, number: str) -> FindingShown:
    """Return a finding by its number within a look, or refuse."""
    return finding_shown(look, named(look, Finding, number))


def findings_in(look: Look, *, only_open: bool = False) -> tuple[FindingShown, ...]:
    """Return the findings on record within a look."""
    rows = look.session.execute(select(Finding).where(Finding.entry <= look.upto).order_by(Finding.id)).scalars()
    shown = (finding_shown(look, row) for row in rows)
    return tuple(f for f in shown if not (only_open and f.released))


def findings_of_paper(look: Look, paper: Certificate) -> tuple[FindingShown, ...]:
    """Return the findings that a paper opened, or one that it corrects: the question is the same. Oldest first."""
    papers = [paper.id]
    while paper.supersedes_id is not None:
        paper = look.session.get_one(Certificate, paper.supersedes_id)
        papers.append(paper.id)
    mine = (Finding.certificate_id.in_(papers), Finding.entry <= look.upto)
    rows = look.session.execute(select(Finding).where(*mine).order_by(Finding.id)).scalars()
    return tuple(finding_shown(look, row) for row in rows)


def finding_shown(look: Look, finding: Finding) -> FindingShown:
    """Return a finding as on record at the look's instant."""
    holds = look.session.execute(
        select(FindingHold).where(FindingHold.finding_id == finding.id, FindingHold.entry <= look.upto)
    ).scalars().all()  # fmt: skip
    actions = look.session.execute(
        select(FindingAction)
        .where(FindingAction.finding_id == finding.id, FindingAction.entry <= look.upto)
        .order_by(FindingAction.id)
    ).scalars()
    held = {h.lot_id for h in holds if h.lot_id}
    setups = [look.session.get_one(Setup, h.setup_id) for h in holds if h.setup_id]
    check = look.session.get(ResponseCheck, finding.check_id) if finding.check_id else None
    paper = look.session.get(Certificate, finding.certificate_id) if finding.certificate_id else None
    return FindingShown(
        finding.number, finding.cause, finding.says, code_of(look, finding.person_id), check.number if check else "",
        finding.happened_at,
        tuple(look.session.get_one(Equipment, h.equipment_id).asset_no for h in holds if h.equipment_id),
        tuple(s.number for s in setups),
        tuple(s for _, s in lots_of(look, ids=held)) if held else (),
        tuple(ActionShown(a.kind, code_of(look, a.person_id), a.authority, a.says, a.happened_at) for a in actions),
        tuple((s.number, by) for s in setups if (by := freeing_check(look, s.id, finding))),
        look.session.get_one(Equipment, paper.equipment_id).asset_no if paper else "", paper.number if paper else "",
        both_papers(look, *papers_asked(look, finding)) if finding.earlier_certificate_id else None,
        event_behind(look, finding.entry, finding.says) if finding.cause == "other" else "",
    )  # fmt: skip


def held_lots(look: Look) -> frozenset[int]:
    """Return the internal ids of lots that a finding holds or held: what was decided about them stays decided."""
    rows = look.session.execute(
        select(FindingHold.lot_id).where(FindingHold.lot_id.is_not(None), FindingHold.entry <= look.upto)
    )
    return frozenset(i for i in rows.scalars() if i is not None)


def lots_left_in_doubt(look: Look, check: ResponseCheck) -> tuple[tuple[ExaminedLot, ...], TimedCheck | None] | None:
    """Return the lots that a failed check of a job leaves in doubt, and the last acceptable check before it.

    None where no start was open when it was made: then it ended no work.
    """
    assert check.job_id is not None
    checks = timed_checks(look, check.job_id, check.setup_id)
    events = timed_events(look, checks)
    start_id = start_before(checks, check.id)
    if start_id is None:
        return None
    lots = lots_failed(checks, events, timed_lots(look, check.job_id), check.id)
    good = last_good(checks, events, start_id, check.happened_at)
    return tuple(look.session.get_one(ExaminedLot, x.id) for x in lots), good
