"""Lists that more than one person reads: what is due, the findings, late returns."""

from collections.abc import Sequence
from typing import ClassVar

from refstd.desk.against import AgainstShown, against_advice
from refstd.desk.duties import DueRow, due_list
from refstd.desk.findings import FindingShown, findings
from refstd.desk.loans import LoanPast, loans
from refstd.desk.owners import ReturnDue, returns
from refstd.desk.qualifications import PersonDue, people_due
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.record_sections import (
    FINDING_COLUMNS,
    due_day,
    due_tone,
    due_words,
    finding_rows,
    person_due_row,
    return_row,
    when_due,
)
from refstd.tui.widgets.rows import Col, Row, heading

WRITE = Command(
    "o", "write", "Write to file", "Write this list as a report: text, CSV, JSON or PDF by the file's ending."
)


class DuePage(ListPage):
    """Everything that is owed, or what is overdue or deferred of it, most urgent first. Enter opens the item."""

    HEADING = "Due"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("item", 9), Col("activity", 12), Col("state", 10), Col("due on", 10), Col("days", 13), Col("every, source"),
    )  # fmt: skip
    EMPTY = "nothing is owed"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        WRITE,
        Command("l", "intervals", "Intervals", "Which other interval the certificates speak for, by each method."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, state: str = "") -> None:
        super().__init__()
        self.state = state

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: (due_list(lab, when), returns(lab, when), people_due(lab, when)), self.show_due)

    def show_due(self, read: tuple[tuple[DueRow, ...], tuple[ReturnDue, ...], tuple[PersonDue, ...]]) -> None:
        """Show the duties that were read: those of items, and below them those of people."""
        found, going, owed = read
        people = owed if not self.state else ()
        back = going if not self.state else ()
        shown = [r for r in found if self.state in ("", r.state) or (self.state == "deferred" and r.deferred_to)]
        self.head(f"{self.state.capitalize() or 'Due'} ({len(shown) + len(back) + len(people)})")
        self.fill(
            [
                *(Row(
                    (r.asset_no, r.activity, r.state, due_day(r), when_due(r), f"{r.every} ({r.source})"),
                    ("item", r.asset_no), f"{due_words(r)}\n{r.asset_no} {r.name}: {r.verdict.headline()}", due_tone(r),
                ) for r in shown),
                *([heading(f"Back to their owners ({len(back)})")] if back else []),
                *(return_row(r, columns=6) for r in back),
                *([heading(f"People ({len(people)})")] if people else []),
                *(person_due_row(p, columns=6) for p in people),
            ]
        )  # fmt: skip

    def action_intervals(self) -> None:
        from refstd.tui.custodian.intervals import IntervalsPage

        self.app.push_screen(IntervalsPage())

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "due")


class FindingsPage(ListPage):
    """The findings, newest first, open ones on top. Enter opens one."""

    HEADING = "Findings"
    COLUMNS: ClassVar[tuple[Col, ...]] = FINDING_COLUMNS
    EMPTY = "no finding on record"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: findings(lab, when), self.show_findings)

    def show_findings(self, found: tuple[FindingShown, ...]) -> None:
        """Show the findings that were read."""
        waiting = [f for f in found if not f.released]
        self.head(f"Findings ({len(waiting)} open of {len(found)})")
        self.fill(finding_rows(_newest_first(found), self.local))


class LateReturnsPage(ListPage):
    """What came back late, or is late now. Enter opens the item."""

    HEADING = "Late returns"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("item", 12), Col("holder", 10), Col("job", 12), Col("due back", 10), Col("days late", 9, right=True), Col("returned"),
    )  # fmt: skip
    EMPTY = "nothing came back late"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: loans(lab, when), self.show_loans)

    def show_loans(self, found: tuple[LoanPast, ...]) -> None:
        """Show the loans that were late."""
        late = [x for x in reversed(found) if x.late_days]
        self.head(f"Late returns ({len(late)})")
        self.fill(
            [
                Row(
                    (x.asset_no, x.holder, x.job, x.due_back_on, str(x.late_days), self.local(x.returned_at) if x.returned_at else "still out"),
                    ("item", x.asset_no), f"{x.asset_no} out to {x.holder} for job {x.job} since {self.local(x.since)}, due back {x.due_back_on}: {x.condition or 'not back yet'}",
                    "" if x.returned_at else "bad",
                )
                for x in late
            ]
        )  # fmt: skip


class OverriddenPage(ListPage):
    """Kits that went out against advice: who decided it and why. Enter opens the job."""

    HEADING = "Kits taken against advice"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("when", 16),
        Col("job", 10),
        Col("decided by", 10),
        Col("taken by", 10),
        Col("why"),
    )
    EMPTY = "no kit was taken against advice"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: against_advice(lab, when), self.show_decided)

    def show_decided(self, found: tuple[AgainstShown, ...]) -> None:
        """Show the decisions that were read."""
        self.head(f"Kits taken against advice ({len(found)})")
        self.fill(
            [
                Row((self.local(a.happened_at), a.job, a.decided_by, a.taken_by, a.why), ("job", a.job),
                    f"{a.in_words()}\nadvised: {'; '.join(a.advised)}")
                for a in found
            ]
        )  # fmt: skip


def _newest_first(found: Sequence[FindingShown]) -> list[FindingShown]:
    return sorted(found, key=lambda f: (not f.released, f.happened_at), reverse=True)
