"""The technician's day: jobs in hand with their kit, the last check and until when it covers, what is held."""

from typing import ClassVar

from rich.console import Group
from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from refstd.base.text import safe
from refstd.desk.findings import FindingShown
from refstd.desk.homes import JobInHand, technician_home
from refstd.desk.homes import TechnicianHome as Day
from refstd.desk.jobs import JobShown
from refstd.desk.lots import close_job
from refstd.desk.serviceability import CAUTION
from refstd.tui.asking import AskLine
from refstd.tui.commands import EVERYWHERE, QUIT, Command
from refstd.tui.homepage import AS_AT, WHO, HomePage
from refstd.tui.technician.checkin import CheckInScreen
from refstd.tui.technician.jobs import open_job_form
from refstd.tui.technician.lots import LotsScreen
from refstd.tui.technician.match import MatchScreen
from refstd.tui.technician.setups import SetupsScreen
from refstd.tui.technician.verdict import VerdictScreen
from refstd.tui.widgets.hanging import hanging
from refstd.tui.widgets.menu import Entry, Menu
from refstd.tui.widgets.verdict import items_table, sign_of


class TechnicianHome(HomePage):
    """Your jobs, kits and checks. A key acts on the job that is highlighted."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("c,enter", "check", "Check", "Make a response check for the highlighted job."),
        Command("l", "lots", "Lots", "See and log the lots examined under the highlighted job."),
        Command("m", "match", "Match", "Find the kits that suit the highlighted job, and check one out."),
        Command("i", "check_in", "Check in", "Give items of the highlighted job back, with their condition."),
        Command("g", "hand_over", "Hand over", "Hand the highlighted job over to the next shift.", in_footer=False),
        Command("h", "happened", "Event", "Something happened to an item of the job's kit: tape, tip, cable, knock."),
        Command(
            "k",
            "kit_sheet",
            "Kit sheet",
            "The sheet of the kit that is out for the highlighted job, to read or to print.",
            in_footer=False,
        ),
        Command(
            "b",
            "back_entry",
            "Paper sheet",
            "Enter a check of the highlighted job that was read earlier, with the scan of its sheet.",
            in_footer=False,
        ),
        Command("n", "new_job", "New job", "Open a job under a procedure.", in_footer=False),
        Command("s", "setups", "Setups", "Setups and their baselines."),
        Command("v", "verdict", "Verdict", "Read the verdict of the last check again.", in_footer=False),
        Command("u", "suspects", "Suspects", "Which item moved: the evidence over the whole lab.", in_footer=False),
        Command("e", "swaps", "Swap tests", "Swap tests begun, to go on with or to read.", in_footer=False),
        Command(
            "x", "close_job", "Close job", "Close the highlighted job with a reason; its records stay.", in_footer=False
        ),
        AS_AT,
        WHO,
        QUIT,
        *EVERYWHERE,
    )

    def body(self) -> ComposeResult:
        yield Menu(id="jobs", numbered=False)
        yield Static(CAUTION, classes="note", markup=False)

    def on_mount(self) -> None:
        self.set_interval(60, self._count_down)

    def _count_down(self) -> None:
        """Read anew each minute while this screen is in front, so that the time to the next check runs down."""
        if self.app.screen is self and not self.acting:
            self.load()

    def load(self) -> None:
        app = self.refstd
        self.head(f"jobs and kits in hand, {self.local(app.now())[11:]}")
        self.ask(lambda: technician_home(app.lab, app.by, app.when()), self.show_home)

    def show_home(self, found: Day) -> None:
        self.in_hand = {j.job.number: j for j in found.jobs}
        entries = [Entry("", Text("In hand"))]
        entries += [Entry(j.job.number, _in_hand(j)) for j in found.jobs]
        if not found.jobs:
            entries.append(Entry("", Text("  nothing; m matches a kit to an open job", style="not bold")))
        entries += [Entry("", Text("Held"))] if found.holds else []
        entries += [Entry("", _hold(f)) for f in found.holds]
        without = [j for j in found.open_jobs if j.number not in self.in_hand]
        entries.append(Entry("", Text("Open jobs without a kit in your hands")))
        entries += [Entry(j.number, _job(j)) for j in without]
        if not without:
            entries.append(Entry("", Text("  none; n opens one", style="not bold")))
        menu = self.query_one(Menu)
        menu.show(entries, menu.chosen)
        menu.focus()

    def _chosen(self) -> str:
        """Return the highlighted job's number, or say that there is none."""
        number = self.query_one(Menu).chosen
        if not number:
            self.notify("n opens a job.", title="No job is highlighted", severity="warning", markup=False)
        return number

    def on_option_list_option_selected(self) -> None:
        self.action_check()

    def action_check(self) -> None:
        if not self.may_record():
            return
        from refstd.tui.technician.check import CheckScreen

        if job := self._chosen():
            self.app.push_screen(CheckScreen(job))

    def action_back_entry(self) -> None:
        if not self.may_record():
            return
        from refstd.tui.technician.backentry import enter_sheet

        if job := self._chosen():
            enter_sheet(self, job)

    def action_lots(self) -> None:
        if job := self._chosen():
            self.app.push_screen(LotsScreen(job))

    def action_match(self) -> None:
        if job := self._chosen():
            self.app.push_screen(MatchScreen(job))

    def action_kit_sheet(self) -> None:
        from refstd.tui.technician.kitsheet import KitPage

        if job := self._chosen():
            self.app.push_screen(KitPage(job))

    def action_check_in(self) -> None:
        if not self.may_record():
            return
        if job := self._chosen():
            self.app.push_screen(CheckInScreen(job))

    def action_hand_over(self) -> None:
        if not self.may_record():
            return
        from refstd.tui.technician.shift import hand_over_shift

        if number := self._chosen():
            hand_over_shift(self, number, self.load)

    def action_happened(self) -> None:
        if not self.may_record():
            return
        from refstd.tui.happening import something_happened

        if number := self._chosen():
            job = self.in_hand.get(number)
            something_happened(self, [s.item.asset_no for s in job.items] if job else [], self.load)

    def action_new_job(self) -> None:
        if not self.may_record():
            return
        open_job_form(self)

    def action_close_job(self) -> None:
        if not self.may_record():
            return
        job, app = self._chosen(), self.refstd

        def close(why: str | None) -> None:
            if why is not None:
                self.act(
                    lambda operation: close_job(app.lab, job, why, by=app.by, now=app.now(), operation=operation),
                    self._told_closed,
                )

        if job:
            self.app.push_screen(AskLine(f"Why is job {job} closed?"), close)

    def _told_closed(self, found: tuple[str, ...]) -> None:
        self.tell("Job closed." + (f" Lots that no check covers are held by {', '.join(found)}." if found else ""))
        self.load()

    def action_setups(self) -> None:
        self.app.push_screen(SetupsScreen(self.query_one(Menu).chosen))

    def action_suspects(self) -> None:
        self.open_record("page", "suspects")

    def action_swaps(self) -> None:
        from refstd.tui.technician.swap import SwapsPage

        self.app.push_screen(SwapsPage())

    def action_verdict(self) -> None:
        job = self.in_hand.get(self._chosen())
        if job is not None and job.last_check:
            self.app.push_screen(VerdictScreen(job.last_check))


def _job(job: JobShown) -> Table:
    says = f"{safe(job.parts)}; {safe(job.procedure.name)}; {job.starts_on} to {job.ends_on}"
    return hanging([(Text(safe(job.number), style="bold"), Text(says))], len(safe(job.number)) + 2)


def _in_hand(job: JobInHand) -> Group:
    """Return a job with its items' verdicts word for word, the last check, what it covers, and the next one due."""
    moved = [r for s in job.items for r in s.verdict.reasons if r.rule == "suspect"]
    about = [(Text("! moved", style="bold"), Text(safe(f"{r.says}: {r.figure} → {r.cure}"))) for r in moved]
    if job.late:
        about.append((Text("! late", style="bold"), Text(safe(job.late))))
    if job.last_check:
        last = f"{sign_of(job.last_outcome)} {job.last_check} on {job.setup}: {job.last_outcome}"
        about.append((Text("last check"), Text(safe(last) + (f"; {safe(job.covers)}" if job.covers else ""))))
    about.append((Text("next check"), Text(safe(job.next_check), style="bold")))
    return Group(_job(job.job), items_table(job.items, indent=2), hanging(about, 12, indent=2))


def _hold(finding: FindingShown) -> Group:
    says = Text(f"holds {safe(finding.holds_and_freed())}: {safe(finding.says)}")
    return Group(hanging([(Text(f"✗ {safe(finding.number)}"), says)], 10, indent=2))
