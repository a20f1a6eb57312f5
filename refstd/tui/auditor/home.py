"""What an audit begins with: overdue, deferred, decided, drifting, held, unverified, late, and where the log stands."""

from typing import ClassVar

from refstd.desk.homes import AuditorHome as Found
from refstd.desk.homes import auditor_home
from refstd.tui.commands import EVERYWHERE, QUIT, Command
from refstd.tui.driftwords import newest_in_words
from refstd.tui.homepage import AS_AT, REGISTER_KEYS, WHO, HomePage
from refstd.tui.record_sections import due_words, when_due
from refstd.tui.screens import LabScreen
from refstd.tui.suspectwords import home_rows
from refstd.tui.widgets.rows import Col, Row

MENU = (
    Command("o", "page('overdue')", "Overdue", "What is overdue, with the source of each interval.", in_footer=False),
    Command("d", "page('due')", "Due list", "Everything that is owed; write it as a report.", in_footer=False),
    Command("s", "page('suspects')", "Suspects", "Which item moved: the evidence over the whole lab.", in_footer=False),
    Command("g", "page('drift')", "Drift", "Every setup and notch against its baseline, with control charts.", in_footer=False),
    Command("f", "page('findings')", "Findings", "What is held, decided and released.", in_footer=False),
    Command("k", "page('decisions')", "Decisions", "What authority decided: against advice, releases, deferrals, intervals.", in_footer=False),
    Command("l", "page('late')", "Late returns", "What came back late or is late now.", in_footer=False),
    Command("y", "page('unverified')", "Unverified", "Items in service whose evidence is missing.", in_footer=False),
    Command("j", "page('log')", "Log", "Who recorded what and when, entry by entry.", in_footer=False),
    Command("v", "page('care')", "Verify", "Look whether the store is whole.", in_footer=False),
    *REGISTER_KEYS,
    Command("r", "page('procedures')", "Procedures", "The written procedures with their limits.", in_footer=False),
    Command("u", "page('people')", "People", "Who works here, and with which authorities.", in_footer=False),
    AS_AT,
    WHO,
)  # fmt: skip


class AuditorHome(HomePage):
    """What an audit begins with. Enter opens the records behind a number."""

    HEADING = "Auditor"
    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("how many", 8, right=True), Col("what", 34), Col("which"))
    MENU = MENU
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (*MENU, QUIT, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: auditor_home(lab, when), self.show_found)

    def show_found(self, found: Found) -> None:
        """Show the numbers that were read, each with the records behind it."""
        drifting = [f"{d.setup.number} notch {d.notch}: {newest_in_words(d)}, {d.in_words()}" for d in found.drifting]
        late_now = sum(1 for x in found.late if x.returned_at is None)
        self.fill(
            [
                *home_rows(found.suspects),
                _number("overdue", "duties overdue", [r.asset_no for r in found.overdue],
                        [f"{due_words(r)}, {when_due(r)}" for r in found.overdue]),
                _number("deferred", "due dates deferred", [r.asset_no for r in found.deferred], [due_words(r) for r in found.deferred], "warn"),
                _number("decisions", "decisions by authority", [d.record[1] for d in found.decided],
                        [f"{d.kind}, {d.record[1]}: {d.why} ({d.person})" for d in found.decided], "warn"),
                _number("drift", "notches with drift that stands out", [f"{d.setup.number} {d.notch}" for d in found.drifting], drifting),
                _number("findings", "findings open", [f.number for f in found.findings],
                        [f"{f.number} {f.cause}: {f.says}; holds {f.holds_and_freed()}" for f in found.findings]),
                _number("late", f"returns late ({late_now} still out)", [x.asset_no for x in found.late],
                        [f"{x.asset_no} with {x.holder}, {x.late_days} days late, due back {x.due_back_on}" for x in found.late]),
                _number("overridden", "kits taken against advice", [a.job for a in found.overridden],
                        [f"{a.in_words()}; advised: {'; '.join(a.advised)}" for a in found.overridden], "warn"),
                _number("unverified", "items in service without evidence", [i.asset_no for i in found.unverified],
                        [f"{i.asset_no} {i.name}, {i.kind}" for i in found.unverified]),
                Row((str(found.log_sequence), "log entries; the newest one", f"{self._instant(found.newest_entry)}, head {found.log_hash[:16]}…"),
                    ("page", "log"), f"log head {found.log_sequence} {found.log_hash}\nCompare it with a head kept outside this file: it shows a cut tail."),
            ]
        )  # fmt: skip

    def _instant(self, kept: str) -> str:
        from datetime import datetime

        return self.local(datetime.fromisoformat(kept.replace("Z", "+00:00"))) if kept else "none"

    def open_row(self, row: Row) -> None:
        if row.opens is not None and row.opens[0] == "page":
            self.action_page(row.opens[1])
        else:
            super().open_row(row)

    def action_page(self, name: str) -> None:
        self.app.push_screen(_page(name))


def _number(page: str, what: str, which: list[str], says: list[str], tone: str = "bad") -> Row:
    shown = ", ".join(dict.fromkeys(which)) or "none"
    about = "\n".join(says[:5]) + (f"\nand {len(says) - 5} more" if len(says) > 5 else "")
    return Row((str(len(says)), what, shown), ("page", page), about or f"no {what}", tone if says else "")


def _page(name: str) -> LabScreen:
    """Return the page behind a number or key, loaded when it is asked for."""
    if name in ("overdue", "deferred", "due", "late", "overridden"):
        from refstd.tui import lists

        return {
            "overdue": lambda: lists.DuePage("overdue"),
            "deferred": lambda: lists.DuePage("deferred"),
            "due": lists.DuePage,
            "late": lists.LateReturnsPage,
            "overridden": lists.OverriddenPage,
        }[name]()
    if name == "log":
        from refstd.tui.auditor.log import LogPage

        return LogPage()
    if name == "decisions":
        from refstd.tui.auditor.decisions import DecisionsPage

        return DecisionsPage()
    if name == "unverified":
        from refstd.tui.auditor.unverified import UnverifiedPage

        return UnverifiedPage()
    from refstd.tui.custodian import pages

    return pages.named(name)
