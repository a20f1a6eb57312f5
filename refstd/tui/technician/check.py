"""A response check in the order in which a technician works: one step after the other, what was done stays in sight."""

import asyncio
from contextlib import suppress
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widget import Widget

from refstd.base.errors import Refusal
from refstd.desk.checks import (
    CheckDraft,
    CheckSheet,
    CheckVerdict,
    Preview,
    ReadingDraft,
    check_sheet,
    preview_check,
    record_check,
)
from refstd.desk.homes import SetupInHand, kit_in_hand
from refstd.desk.serviceability import Status, status
from refstd.desk.setups import setups
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import EVERYWHERE, Command
from refstd.tui.pages import Page
from refstd.tui.screens import told
from refstd.tui.technician.notches import ReadingsStep
from refstd.tui.technician.preview import REMEDIES, PreviewStep
from refstd.tui.technician.steps import HandStep, OccasionStep, PreparedStep, SettingsStep, Step
from refstd.tui.technician.underway import SETTINGS, TEMPERATURES, Late, Underway, said
from refstd.tui.technician.verdict import VerdictScreen
from refstd.tui.widgets.menu import Menu
from refstd.tui.widgets.verdict import reason_line

PREPARED = ("noise", *TEMPERATURES)


@dataclass(frozen=True, slots=True)
class InHand:
    """What the first step shows: items, the setups they make, and the sheet of each for its likely occasion."""

    items: tuple[Status, ...]
    setups: tuple[SetupInHand, ...]
    sheets: dict[str, CheckSheet]
    cable: str = ""
    adapter: str = ""


class CheckScreen(Page):
    """Make a response check, step by step."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("escape", "back", "One step back", "Go one step back; what was typed stays."),
        Command("enter", "go_on", "Go on", "Confirm the field or the step and go on.", in_footer=False, first=True),
        Command("f2,y", "keep", "Keep", "Put the check on record and read its verdict. Enter never does."),
        Command("r", "repeat", "Repeat once", "Repeat the readings once after a named remedy; both sets are kept."),
        Command(
            "f4",
            "happened",
            "Happened",
            "Something happened to an item of the kit: tape, tip, cable, knock. The check begins anew.",
        ),
        Command("n", "note", "Note", "Add a note to the check."),
        *EVERYWHERE,
    )

    def __init__(
        self, job: str = "", *, setup: str = "", occasion: str = "", procedure: str = "", late: Late | None = None
    ) -> None:
        """Begin a check of a job or a setup. `late`: of readings taken earlier, when and by whom."""
        super().__init__()
        self.check = Underway(job=job, procedure=procedure, setup=setup, occasion=occasion)
        self.late = late
        if late is not None:
            self.check.read_at, self.check.done_by, self.check.sheet = late.read_at, late.done_by, late.sheet
        self.fixed_occasion, self.only_setup = occasion, setup
        self.hand, self.occasion, self.settings = HandStep(), OccasionStep(), SettingsStep()
        self.prepared, self.first, self.look = PreparedStep(), ReadingsStep(), PreviewStep()
        self.again, self.look_again = ReadingsStep(), PreviewStep()
        self.again.head = "repeat"
        self.steps: tuple[Step, ...] = (
            self.hand, self.occasion, self.settings, self.prepared, self.first, self.look, self.again, self.look_again,
        )  # fmt: skip
        self.at = 0
        self.looked_at: dict[Step, list[ReadingDraft]] = {}
        self.in_hand: InHand | None = None
        self.sheet: CheckSheet | None = None

    def body(self) -> ComposeResult:
        with VerticalScroll(id="steps", can_focus=False):
            yield from self.steps

    # What is in hand

    def load(self) -> None:
        if self.in_hand is None:
            self.ask(self._gathered, self.show_hand)

    def _gathered(self) -> InHand:
        lab, when = self.refstd.lab, self.refstd.when()
        if self.check.job and not self.only_setup:
            at, by = self.check.read_at, self.check.done_by or self.refstd.by
            kit = kit_in_hand(lab, self.refstd.by, self.check.job, when, at)
            sheets = {
                s.setup.number: check_sheet(lab, s.setup.number, s.likely, when, job=self.check.job, by=by, read_at=at)
                for s in kit.setups
            }
            return InHand(kit.items, kit.setups, sheets, kit.cable, kit.adapter)
        number = self.only_setup
        shown = next(s for s in setups(lab, when) if s.number == number)
        occasion = self.fixed_occasion or "start"
        job, procedure, by = self.check.job, self.check.procedure, self.refstd.by
        sheet = check_sheet(lab, number, occasion, when, job=job, procedure=procedure, by=by)
        items = status(lab, [shown.instrument, shown.probe, shown.block], when)
        return InHand(items, (SetupInHand(shown, sheet.start_check, occasion),), {number: sheet})

    def show_hand(self, found: InHand) -> None:
        self.in_hand = found
        self._title()
        if not found.setups:
            self.app.pop_screen()
            self.app.screen.notify(
                "s puts one on record." if found.items else "Check the time." if self.late else "m matches a kit to the job and checks it out.",
                title="No setup is made of these items" if found.items else "No kit was out for this job then" if self.late else "No kit is in hand for this job",
                severity="error", timeout=12, markup=False,
            )  # fmt: skip
            return
        self.check.cable, self.check.adapter = found.cable, found.adapter
        first = found.setups[0].setup.number
        sheet = found.sheets[first]
        if self.late is not None:
            by = f" by {self.late.done_by}" if self.late.done_by else ""
            self.hand.says = f"Read {self.late.read_at}{by}, with what was out then."
        self.hand.show(found.items, found.setups, first, (*sheet.stops, *sheet.signer))
        self._go(0)

    def _title(self) -> None:
        by = self.check.job or self.check.procedure
        setup = f", {self.check.setup}" if self.check.setup else ""
        what = f"{self.check.occasion} check" if self.check.occasion else "response check"
        self.head(f"{what}, {by}{setup}{', paper sheet' if self.late else ''}")

    # From step to step

    def _go(self, place: int) -> None:
        """Make a step the present one."""
        self.at = place
        for n, step in enumerate(self.steps):
            hidden = (step is self.occasion and bool(self.fixed_occasion)) or (n > self.at and n > 5)
            step.set_class(hidden, "hidden")
            step.mark("✓" if n < place else "▸" if n == place else " ", active=n == place, done=n < place)
        self._title()
        self.refresh_bindings()
        self.steps[place].begin()

    def action_back(self) -> None:
        if self.acting:
            return
        shown = [n for n in range(self.at) if not self.steps[n].has_class("hidden")]
        if shown:
            self.steps[self.at].say()
            self._go(shown[-1])
        else:
            self.app.pop_screen()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        present = self.steps[self.at]
        if action in ("keep", "note"):
            return isinstance(present, PreviewStep)
        if action == "repeat":
            return isinstance(present, PreviewStep) and present.may_repeat
        if action == "happened":
            return self.fixed_occasion != "swap test"  # its step is another thing than a check that begins anew
        return True

    async def action_go_on(self) -> None:
        """Take Enter in its turn: after every key typed before it, and before every key typed after it."""
        at, step = self.focused, self.steps[self.at]
        if at is None:
            return
        await all_typed(at)
        if isinstance(at, Menu):
            at.action_select()
        elif self._wrong_at(step, at.id or ""):
            return
        elif step.enter(at):
            self._finished(step)

    def _wrong_at(self, step: Step, name: str) -> bool:
        """Say at a row of settings or preparation what is wrong with it, as soon as it is left."""
        if step is self.settings and name in SETTINGS:
            self.check.settings = self.settings.settings
        elif step is self.prepared and name in PREPARED:
            self.check.noise, self.check.temperatures = self.prepared.noise, self.prepared.temperatures
        else:
            return False
        return step.say_at(self.check.problems_of(name), name)

    @on(Step.Finished)
    def step_finished(self, event: Step.Finished) -> None:
        if event.step is self.steps[self.at]:
            self._finished(event.step)

    def _finished(self, step: Step) -> None:
        if step is self.hand:
            self._after_hand()
        elif step is self.occasion:
            self._ask_sheet(self.occasion.chosen)
        elif step is self.settings:
            self._after_settings()
        elif step is self.prepared:
            self._after_prepared()
        elif isinstance(step, ReadingsStep):
            self._ask_preview(step)

    def _after_hand(self) -> None:
        ready = self.hand.chosen
        self.check.setup = ready.setup.number
        if self.fixed_occasion:
            self._ask_sheet(self.fixed_occasion)
            return
        self.occasion.show(self.check.occasion or ready.likely)
        self._go(1)

    def _ask_sheet(self, occasion: str) -> None:
        """Ask what is to be read on this occasion; what stops the check is told at once."""
        lab, when, check, present = self.refstd.lab, self.refstd.when(), self.check, self.steps[self.at]
        self.set_focus(None)  # what is typed meanwhile belongs to no field
        self.ask(
            lambda: check_sheet(
                lab, check.setup, occasion, when, job=check.job, procedure=check.procedure, read_at=check.read_at
            ),
            lambda sheet: self._show_sheet(present, occasion, sheet),
        )

    async def _show_sheet(self, present: Step, occasion: str, sheet: CheckSheet) -> None:
        if present is not self.steps[self.at]:
            return
        if sheet.stops:
            present.say(*[reason_line(r) for r in sheet.stops])
            present.begin()
            return
        present.say()
        typed = self.settings.settings if self.sheet and self.sheet.settings == sheet.settings else {}
        self.check.occasion, self.sheet, self.occasion.sheet = occasion, sheet, sheet
        self.settings.show(sheet, typed)
        self.prepared.show(sheet)
        struck = (
            [out for s in self.in_hand.items if s.item.asset_no == sheet.block for out in s.verdict.struck]
            if self.in_hand
            else []
        )
        await self.first.show(sheet, struck)
        await self.again.show(sheet, struck)
        self._go(2)

    def _after_settings(self) -> None:
        self.check.settings = self.settings.settings
        if self.settings.say_at(self.check.problems_of(*SETTINGS), *SETTINGS):
            return
        if not self.settings.changed:
            self.settings.say()
        self._go(3)

    def _after_prepared(self) -> None:
        self.check.nulled, self.check.phase_set = self.prepared.nulled, self.prepared.phase_set
        self.check.noise, self.check.temperatures = self.prepared.noise, self.prepared.temperatures
        if not self.prepared.say_at(self.check.problems_of(*PREPARED), *PREPARED):
            self._go(4)

    # Looking, repeating, keeping

    def _ask_preview(self, step: ReadingsStep) -> None:
        draft, problems = self.check.draft(repeat=step is self.again)
        if draft is None:
            step.say(*said(problems))
            return
        readings, _ = step.readings()
        lab, when = self.refstd.lab, self.refstd.when()
        self.set_focus(None)
        self.ask(
            lambda: preview_check(lab, draft, readings, when), lambda found: self._show_preview(step, readings, found)
        )

    async def _show_preview(self, step: ReadingsStep, readings: list[ReadingDraft], found: Preview) -> None:
        if self.steps[self.at] is not step:
            return
        step.say()
        self.looked_at[step] = readings  # these are kept, and nothing else
        look = self.look if step is self.first else self.look_again
        await look.show(found, readings, step.sheet.measure, last=step is self.again)
        self._go(self.at + 1)

    def action_repeat(self) -> None:
        self.app.push_screen(Choose("The one repeat follows on a remedy. Which?", REMEDIES), self._remedied)

    def _remedied(self, remedy: str | None) -> None:
        if not remedy:
            return
        self.check.remedy = self.again.remedy = remedy
        if remedy == "gain":
            now = " ".join(self.check.settings[name] for name in SETTINGS[1:])
            question = "Horizontal and vertical gain of the repeat, dB, with a blank between"
            self.app.push_screen(AskLine(question, now), self._gains_given)
            return
        self.check.gains = {}
        self._go(self.steps.index(self.again))

    def _gains_given(self, typed: str | None) -> None:
        """Take the gains of the repeat: it is judged and kept with its own settings."""
        if typed is None:
            return
        self.check.gains = dict(zip(SETTINGS[1:], [*typed.split(), "", ""][:2], strict=True))
        problems = self.check.draft(repeat=True)[1]
        if problems:
            self.steps[self.at].say(*said(problems))
            return
        self._go(self.steps.index(self.again))

    def action_happened(self) -> None:
        from refstd.tui.happening import something_happened

        numbers = [s.item.asset_no for s in self.in_hand.items] if self.in_hand else []
        something_happened(self, numbers, self._begin_anew)

    def _begin_anew(self) -> None:
        """Begin the check anew: what was read before something happened is no reading of what there is now."""
        job, procedure = self.check.job, self.check.procedure
        anew = CheckScreen(
            job, setup=self.only_setup, occasion=self.fixed_occasion, procedure=procedure, late=self.late
        )
        self.app.switch_screen(anew)

    def action_note(self) -> None:
        def noted(note: str | None) -> None:
            if note is not None:
                self.check.note = note

        self.app.push_screen(AskLine("Note on this check", self.check.note), noted)

    def action_keep(self) -> None:
        repeated = self.steps[self.at] is self.look_again
        if not repeated:
            self.check.remedy = ""
        draft, problems = self.check.draft()
        repeat, more = self.check.draft(repeat=True) if repeated else (None, [])
        if draft is None or more:
            self.steps[self.at].say(*said(problems + more))
            return
        readings = self.looked_at[self.first]
        again = self.looked_at[self.again] if repeated else []
        self.put_on_record(draft, readings, again, repeat)

    def put_on_record(
        self, draft: CheckDraft, readings: list[ReadingDraft], again: list[ReadingDraft], repeat: CheckDraft | None
    ) -> None:
        """Put what was looked at on record, in one act."""
        app = self.refstd

        def keep(operation: str) -> CheckVerdict:
            return record_check(
                app.lab, draft, readings, again, repeat, sheet=self.check.sheet, by=app.by, now=app.now(), operation=operation
            )  # fmt: skip

        self.act(keep, self._kept)

    def _kept(self, verdict: CheckVerdict) -> None:
        self.app.switch_screen(VerdictScreen(verdict.number))

    def refused(self, refusal: Refusal) -> None:
        """Say a refusal below the present step; everything typed stays."""
        self.acting = False
        if self.in_hand is None:
            self.app.pop_screen()
            self.app.screen.notify(told(refusal), title="Not done", severity="error", timeout=12, markup=False)
            return
        self.steps[self.at].say(*told(refusal).split("\n"))
        if self.focused is None:
            self.steps[self.at].begin()


async def all_typed(at: Widget) -> None:
    """Wait until a field has taken every key that was sent to it; Textual hands keys over without waiting."""
    taken = asyncio.Event()
    if at.call_later(taken.set):
        with suppress(TimeoutError):  # the field was closed meanwhile
            await asyncio.wait_for(taken.wait(), timeout=1)
