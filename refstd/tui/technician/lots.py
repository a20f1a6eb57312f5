"""What was examined under a job, between which checks; logging the next lot."""

from typing import ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult

from refstd.base.text import safe
from refstd.desk.checks import CheckVerdict
from refstd.desk.jobs import LotShown, lots
from refstd.desk.kept_checks import checks
from refstd.desk.lot_standing import LotStanding, lots_standing
from refstd.desk.lots import LotDraft, LotLogged, log_lot
from refstd.tui.asking import Choose
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen, Parts
from refstd.tui.pages import Page
from refstd.tui.technician.verdict import VerdictScreen
from refstd.tui.widgets.hanging import hanging
from refstd.tui.widgets.menu import Entry, Menu
from refstd.tui.widgets.verdict import sign_of

WIDTH = 18  # date and time, to the minute, and two blanks
Found = tuple[tuple[CheckVerdict, ...], tuple[LotShown, ...], dict[str, LotStanding]]


class LotsScreen(Page):
    """The checks and the examined lots of a job, in the order in which they happened."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("a", "add", "Log a lot", "Log parts as examined since the last check."),
        Command(
            "enter", "open", "Open", "Read the verdict of the check, or the finding and the event that hold the lot."
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, job: str) -> None:
        super().__init__()
        self.job = job
        self.HEADING = f"checks and lots of job {job}"
        self.starts: list[str] = []
        self.standing: dict[str, LotStanding] = {}

    def body(self) -> ComposeResult:
        yield Menu(id="events", numbered=False)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(
            lambda: (checks(lab, when, job=self.job), lots(lab, when), lots_standing(lab, self.job, when)),
            self.show_lots,
        )

    def show_lots(self, found: Found) -> None:
        self.standing = found[2]
        made, logged = found[0], [x for x in found[1] if x.job == self.job]
        self.starts = [c.number for c in made if c.occasion == "start" and c.outcome == "acceptable"]
        events = [(c.happened_at, 0, Entry(c.number, self._check(c))) for c in made if c.occasion != "set-up"]
        events += [(x.happened_at, 1, Entry(x.number, self._lot(x))) for x in logged]
        entries = [entry for _, _, entry in sorted(events, key=lambda e: e[:2])]
        menu = self.query_one(Menu)
        menu.show(entries or [Entry("", Text("none yet; a start check comes first", style="not bold"))], menu.chosen)
        if entries and not menu.highlighted:
            menu.highlighted = len(entries) - 1
        menu.focus()

    def _check(self, c: CheckVerdict) -> Table:
        made = Text(safe(f"{c.occasion} check {c.number} on {c.setup}, {c.person}{', ' + c.late if c.late else ''}"))
        says = Text(f"{sign_of(c.outcome)} {safe(c.headline())}")
        return hanging([(Text(self.local(c.happened_at)), made), (Text(), says)], WIDTH)

    def _lot(self, x: LotShown) -> Table:
        says = f"lot {x.number}: {x.examined}, under {x.start_check}, {x.person}" + (f", {x.late}" if x.late else "")
        standing = self.standing.get(x.number, LotStanding())
        lines = [(Text(self.local(x.happened_at)), Text(safe(says)))]
        if standing.opens:  # one that only waits for the next check is work as usual
            lines.append((Text(), Text(safe(f"! {standing.says}"))))
        return hanging(lines, WIDTH)

    def action_add(self) -> None:
        if not self.may_record():
            return
        if not self.starts:
            self.notify(
                "Parts are examined after an acceptable start check.",
                title="No start check yet",
                severity="warning",
                markup=False,
            )
            return
        app = self.refstd

        def keep(draft: LotDraft, _parts: Parts, operation: str) -> LotLogged:
            return log_lot(app.lab, draft, by=app.by, now=app.now(), operation=operation)

        form = FormScreen(
            f"examined lot, job {self.job}", LotDraft, keep, given={"job": self.job, "start_check": self.starts[0]},
            choices={"start_check": self.starts}, leave_out=("job",), then=self._logged,
        )  # fmt: skip
        self.app.push_screen(form)

    def _logged(self, lot: LotLogged) -> None:
        if lot.finding:
            self.notify(
                f"Finding {lot.finding} holds it: {lot.why}.",
                title=f"{lot.number} is held",
                severity="warning",
                markup=False,
            )
        else:
            self.tell("\n".join((f"{lot.number} logged", *(r.in_words() for r in lot.advice))))

    def on_option_list_option_selected(self) -> None:
        self.action_open()

    def action_open(self) -> None:
        number = self.query_one(Menu).chosen
        if number.startswith("C-"):
            self.app.push_screen(VerdictScreen(number))
            return
        records = self.standing.get(number, LotStanding()).opens
        if len(records) == 1:
            self.open_record(*records[0])
        elif records:
            kinds = [kind for kind, _ in records]
            asked = Choose(f"What of lot {number}?", kinds)
            self.app.push_screen(asked, lambda kind: self.open_record(kind, dict(records)[kind]) if kind else None)
