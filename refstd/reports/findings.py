"""What went wrong, what it holds, what was decided, and who released it."""

from refstd.desk.findings import ActionShown, FindingShown, findings_in
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant
from refstd.reports.papers import papers_members

COLUMNS = (
    Column("number", "Finding", width=8),
    Column("state", "State", width=8),
    Column("cause", "Cause", width=12),
    Column("says", "What was found", width=28),
    Column("happened_at", "When", Kind.INSTANT, width=14),
    Column("person", "By", width=7),
    Column("check", "Check", width=8),
    Column("holds", "Holds", width=20),
    Column("done", "Done about it", width=34),
)
NOTES = (
    "After a failed check, what was examined since the last acceptable one counts as not examined (ISO 15549:2019, clause 10).",
    "A hold ends with the release, by someone with the authority who is not the one whose check it is.",
)


def findings_sheet(lab: Lab, when: When, only_open: bool = False) -> Sheet:
    """Return the findings, oldest first, or only those that are not released."""
    with lab.look(when) as look:
        found = findings_in(look, only_open=only_open)
        return headed(
            look, "refstd.findings/1", "Findings", COLUMNS, [_row(f) for f in found],
            scope=[("findings", "not released" if only_open else "all")], notes=NOTES,
            extra={
                "actions": [_members(f, a) for f in found for a in f.actions],
                "papers": [{"finding": f.number, **papers_members(f.papers)} for f in found if f.papers],
            },
        )  # fmt: skip


def state_of(finding: FindingShown) -> str:
    """Return how a finding stands: open, decided, released."""
    if finding.released:
        return "released"
    return "decided" if any(a.kind == "disposition" for a in finding.actions) else "open"


def action_in_words(action: ActionShown) -> str:
    """Return one thing done about a finding in a line."""
    authority = f" ({action.authority})" if action.authority else ""
    return f"{action.kind} by {action.person}{authority}, {instant(action.happened_at)}: {action.says}"


def _row(f: FindingShown) -> tuple[str, ...]:
    return (
        f.number, state_of(f), f.cause, f.says, instant(f.happened_at), f.person, f.check, f.holds_and_freed(),
        "; ".join(action_in_words(a) for a in f.actions),
    )  # fmt: skip


def _members(f: FindingShown, a: ActionShown) -> dict[str, object]:
    return {
        "finding": f.number, "kind": a.kind, "person": a.person, "authority": a.authority, "says": a.says,
        "happened_at": instant(a.happened_at),
    }  # fmt: skip
