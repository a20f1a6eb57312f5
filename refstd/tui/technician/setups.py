"""Setups and their baselines: putting a setup on record, taking set-ups one after another, freezing the baseline."""

from dataclasses import dataclass
from typing import ClassVar

from rich.console import Group
from rich.text import Text
from textual.app import ComposeResult

from refstd.base.text import safe
from refstd.desk.baselines import BaselineDraft, BaselineShown, baseline_shown, set_baseline, waiting_set_ups
from refstd.desk.items import register
from refstd.desk.people import people
from refstd.desk.procedures import procedures
from refstd.desk.setups import SetupDraft, SetupShown, make_setup, setups
from refstd.tui.asking import Choose
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen, Parts
from refstd.tui.pages import Page
from refstd.tui.widgets.hanging import hanging
from refstd.tui.widgets.menu import Entry, Menu


@dataclass(frozen=True, slots=True)
class SetupRow:
    """A setup with its baseline and the set-ups that wait to become one."""

    setup: SetupShown
    baseline: BaselineShown | None
    waiting: tuple[str, ...]


class SetupsScreen(Page):
    """Setups on record. A baseline is made of several independent set-ups, then frozen by someone with the authority."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "new", "New setup", "Put a setup on record: instrument, probe, block and conditions."),
        Command("t", "take", "Take a set-up", "Null and set up anew, and read the notches for the baseline."),
        Command(
            "b",
            "freeze",
            "Freeze baseline",
            "Freeze the baseline from the set-ups that wait, with the approver's name.",
        ),
        Command("p", "periodic", "Periodic check", "Check the setup outside a job.", in_footer=False),
        BACK,
        *EVERYWHERE,
    )

    HEADING = "setups and baselines"

    def __init__(self, job: str = "") -> None:
        super().__init__()
        self.job = job
        self.rows: dict[str, SetupRow] = {}
        self.codes: list[str] = []

    def body(self) -> ComposeResult:
        yield Menu(id="setups", numbered=False)

    def load(self) -> None:
        self.ask(self._gathered, self.show_setups)

    def _gathered(self) -> tuple[list[SetupRow], list[str]]:
        lab, when = self.refstd.lab, self.refstd.when()
        rows = [
            SetupRow(s, baseline_shown(lab, s.number, when), waiting_set_ups(lab, s.number, when))
            for s in setups(lab, when)
        ]
        return rows, [p.code for p in procedures(lab, when)]

    def show_setups(self, found: tuple[list[SetupRow], list[str]]) -> None:
        self.rows = {r.setup.number: r for r in found[0]}
        self.codes = found[1]
        entries = [Entry(r.setup.number, self._row(r)) for r in found[0]]
        menu = self.query_one(Menu)
        menu.show(entries or [Entry("", Text("none yet; n puts one on record", style="not bold"))], menu.chosen)
        menu.focus()

    def _row(self, row: SetupRow) -> Group:
        lines = []
        told = {"frequency_khz", "unit", "measure"}
        usual = ("screen", "impedance plane")
        conditions = ", ".join(
            f"{k.replace('_', ' ')} {v}" for k, v in row.setup.conditions if k not in told and (k, v) != usual
        )
        lines.append(f"{row.setup.measure}, {row.setup.unit}; {conditions}")
        if row.baseline is None:
            lines.append("no baseline")
        else:
            b, made = row.baseline, self.local(row.baseline.happened_at)
            lines.append(f"baseline of {made} from {', '.join(b.checks)}, approved by {b.approved_by}")
        if row.waiting:
            waits = "1 set-up waits" if len(row.waiting) == 1 else f"{len(row.waiting)} set-ups wait"
            lines.append(f"{waits} to be frozen: {', '.join(row.waiting)}")
        head = Text(safe(row.setup.in_words()), style="bold")
        return Group(head, hanging([(Text(), Text(safe(line))) for line in lines], 0, indent=2))

    def _chosen(self) -> SetupRow | None:
        row = self.rows.get(self.query_one(Menu).chosen)
        if row is None:
            self.notify("n puts a setup on record.", title="No setup is highlighted", severity="warning", markup=False)
        return row

    # A new setup

    def action_new(self) -> None:
        if not self.may_record():
            return
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(
            lambda: {k: [i.asset_no for i in register(lab, when, k)] for k in ("instrument", "probe", "block")},
            self._form,
        )

    def _form(self, numbers: dict[str, list[str]]) -> None:
        app = self.refstd

        def keep(draft: SetupDraft, _parts: Parts, operation: str) -> tuple[str, tuple[str, ...]]:
            return make_setup(app.lab, draft, by=app.by, now=app.now(), operation=operation)

        def told(kept: tuple[str, tuple[str, ...]]) -> None:
            number, warnings = kept
            self.query_one(Menu).focus()
            says = "\n".join(f"! {w}" for w in warnings) or "t takes the first set-up of its baseline."
            self.notify(
                says, title=f"Setup {number} is on record", timeout=12, markup=False,
                severity="warning" if warnings else "information",
            )  # fmt: skip

        given = {k: v[0] for k, v in numbers.items() if len(v) == 1}
        self.app.push_screen(FormScreen("new setup", SetupDraft, keep, told, given=given, choices=numbers))

    # Set-ups and checks outside a job

    def action_take(self) -> None:
        if not self.may_record():
            return
        self._by_procedure("set-up")

    def action_periodic(self) -> None:
        if not self.may_record():
            return
        self._by_procedure("periodic")

    def _by_procedure(self, occasion: str) -> None:
        row = self._chosen()
        if row is None:
            return
        if not self.codes:
            self.notify("The custodian files one.", title="No procedure is on record", severity="warning", markup=False)
        elif len(self.codes) == 1:
            self._check(row.setup.number, occasion, self.codes[0])
        else:
            asked = Choose(f"By which procedure is the {occasion} check judged?", self.codes)
            self.app.push_screen(asked, lambda code: self._check(row.setup.number, occasion, code) if code else None)

    def _check(self, setup: str, occasion: str, code: str) -> None:
        from refstd.tui.technician.check import CheckScreen

        self.app.push_screen(CheckScreen(setup=setup, occasion=occasion, procedure=code))

    # Freezing the baseline

    def action_freeze(self) -> None:
        if not self.may_record():
            return
        row = self._chosen()
        if row is None:
            return
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(
            lambda: [p.code for p in people(lab, when) if p.active and p.authorities],
            lambda codes: self._freeze(row, codes),
        )

    def _freeze(self, row: SetupRow, codes: list[str]) -> None:
        app, setup = self.refstd, row.setup.number

        def keep(draft: BaselineDraft, _parts: Parts, operation: str) -> None:
            set_baseline(app.lab, draft, row.waiting, by=app.by, now=app.now(), operation=operation)

        def told(_: None) -> None:
            self.notify(safe(f"From {', '.join(row.waiting)}."), title=f"Baseline of {setup} is frozen", markup=False)

        note = (
            f"From {len(row.waiting)} independent set-ups: {', '.join(row.waiting)}. Each was nulled and set anew."
            if row.waiting
            else "No set-up waits; t takes one."
        )
        self.app.push_screen(
            FormScreen(
                f"freeze the baseline of {setup}", BaselineDraft, keep, told, given={"setup": setup}, leave_out=("setup",),
                choices={"approved_by": codes}, note=note,
            )
        )  # fmt: skip
