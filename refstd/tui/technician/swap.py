"""The guided swap test: what is suspected, the thing to exchange now, the readings, what they say, and the next thing."""

from typing import ClassVar

from rich.console import RenderableType
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from refstd.base.errors import NotAllowed, Refusal
from refstd.base.reason import Reason, Weight
from refstd.base.text import safe
from refstd.desk.checks import CheckDraft, ReadingDraft
from refstd.desk.people import allowed
from refstd.desk.serviceability import CAUTION, status
from refstd.desk.swaps import (
    PlannedStep,
    StepKept,
    StepShown,
    StepToMake,
    SwapDraft,
    SwapShown,
    notches_to_follow,
    record_step,
    start_swap,
    step_to_make,
    swap_from,
    swap_shown,
    swaps,
)
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.lists import WRITE
from refstd.tui.pages import ListPage, Page
from refstd.tui.screens import told
from refstd.tui.technician.check import CheckScreen, InHand
from refstd.tui.widgets.hanging import Pair, hanging
from refstd.tui.widgets.menu import Entry, Menu
from refstd.tui.widgets.rows import Col, Row

MAKE_CHECK = "make a response check"
ADVISES = "A swap test advises: it holds nothing, frees nothing and covers no work."
_SIGNS = {"stayed": "·", "went": "✓", "cannot tell": "?"}


def open_swap(page: Page, check: str, notch: str) -> None:
    """Open the swap test from a notch of a check: the one that is on record, else begin it after asking why."""
    app = page.refstd

    def found(number: str) -> None:
        if number:
            app.push_screen(SwapPage(number))
        elif app.person is not None and not allowed(app.person, MAKE_CHECK):
            who = f"{app.person.code} ({app.person.role})"
            page.refused(
                NotAllowed(f"{who} may not make a response check", "", "Have a technician begin the swap test.")
            )
        elif page.may_record():
            question = f"Swap test from {check}, notch {notch}: why? (may stay empty)"
            app.push_screen(AskLine(question), lambda why: begin(why) if why is not None else None)

    def begin(why: str) -> None:
        draft = SwapDraft(check=check, notch=notch, why=why)
        page.act(
            lambda operation: start_swap(app.lab, draft, by=app.by, now=app.now(), operation=operation),
            lambda begun: app.push_screen(SwapPage(begun.number)),
        )

    page.ask(lambda: swap_from(app.lab, check, notch, app.when()), found)


def choose_notch(page: Page, check: str) -> None:
    """Ask which notch of a check to follow, the farthest off first, and open the swap test from it."""
    app = page.refstd

    def asked(found: tuple[tuple[str, Reason], ...]) -> None:
        said = [(label, f"{label}: {_short(reason)}", reason.weight is not Weight.STOPS) for label, reason in found]
        against = [shown for _, shown, possible in said if not possible]
        if len(against) == len(said):
            wrong = f"from check {check} no swap test can begin" + "".join(f"; {a}" for a in against[:3])
            page.refused(Refusal(wrong, "", "Start from a check that lies further off its baseline."))
            return
        question = "Which notch lies off its baseline? The farthest off stands first."
        possible = [(label, shown) for label, shown, may in said if may]
        asking = Choose(question, [n for n, _ in possible], [x for _, x in possible], against=against)
        app.push_screen(asking, lambda label: open_swap(page, check, label) if label else None)

    page.ask(lambda: notches_to_follow(app.lab, check, app.when()), asked)


class SwapPage(Page):
    """A swap test: steps made, what they say, and what to exchange next. Enter begins the step that is highlighted."""

    DEFAULT_CSS = """
    SwapPage #said { height: 1fr; padding: 0 1; }
    SwapPage #ask { height: auto; padding: 0 1; text-style: bold; border-top: solid $primary-darken-1; }
    SwapPage Menu { height: auto; max-height: 7; }
    SwapPage #means { height: auto; padding: 0 1 0 4; }
    """
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("c,enter", "step", "Exchange it", "Exchange the highlighted thing and make the check.", act=MAKE_CHECK),
        Command("o", "open_check", "First check", "Open the check that the swap test began from."),
        Command("k", "open_step", "Last check", "Open the check of the last step."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.swap: SwapShown | None = None

    def body(self) -> ComposeResult:
        with VerticalScroll(id="said"):
            yield Static(id="words", markup=False)
        yield Static(id="ask", markup=False)
        yield Menu(id="things")
        yield Static(id="means", markup=False)
        yield Static(CAUTION, classes="note", markup=False)

    def load(self) -> None:
        self.ask(lambda: swap_shown(self.refstd.lab, self.number, self.refstd.when()), self.show_swap)

    def show_swap(self, found: SwapShown) -> None:
        """Show the swap test that was read."""
        self.swap = found
        self.head(f"{found.number}: check {found.check}, notch {found.notch}")
        self.query_one("#words", Static).update(_words(found))
        over = bool(found.void or found.ended)
        self.query_one("#ask", Static).update(Text(_asked(found)))
        menu = self.query_one(Menu)
        entries = [] if over else [Entry(p.exchanged if p.possible else "", _entry(p)) for p in found.plan]
        menu.show(entries, found.next.exchanged if found.next else "")
        menu.display = self.query_one("#means").display = not over
        menu.focus()
        self.refresh_bindings()

    @on(Menu.OptionHighlighted)
    def say_what_it_means(self) -> None:
        """Say below the list what the answer of the highlighted step would mean."""
        thing = self.query_one(Menu).chosen
        step = next((p for p in self.swap.plan if p.exchanged == thing), None) if self.swap else None
        lines = [("if it goes:", step.if_it_goes), ("if it stays:", step.if_it_stays)] if step and not step.told else []
        self.query_one("#means", Static).update(hanging([(Text(a), Text(safe(b))) for a, b in lines], 13))

    def on_option_list_option_selected(self) -> None:
        self.action_step()

    def action_step(self) -> None:
        thing = self.query_one(Menu).chosen
        step = next((p for p in self.swap.plan if p.exchanged == thing), None) if self.swap else None
        if self.swap is None or step is None or not step.possible or not self.may_record():
            return
        swap = self.swap
        if thing == "cable":
            self._ask_cable(step)
        elif len(step.partners) == 1 and not step.against:
            self._make(thing, step.partners[0].setup, swap.cable)
        else:
            shown = [
                f"{p.takes_part}, {p.setup}" + (f" (out to {p.out_to})" if p.out_to else "") for p in step.partners
            ]
            setups = [p.setup for p in step.partners]
            which = Choose(f"Which {thing} comes in?", setups, shown, against=step.against)
            self.app.push_screen(which, lambda setup: self._make(thing, setup, swap.cable) if setup else None)

    def _ask_cable(self, step: PlannedStep, typed: str = "", refusal: Refusal | None = None) -> None:
        """Ask for the number of the cable, typed or scanned; after a refusal once more, with its reason."""
        assert self.swap is not None
        swap = self.swap
        question = f"Number of the cable in place of {swap.cable or 'the first one'} (empty: it has none)"
        beside = f"! {told(refusal)}" if refusal else _cables(step)
        asking = AskLine(question, typed, beside)
        self.app.push_screen(asking, lambda n: self._make("cable", swap.setup, n, step) if n is not None else None)

    def _make(self, thing: str, setup: str, cable: str, asked: PlannedStep | None = None) -> None:
        """Ask whether the step can be made, and only then go to its check: nobody reads notches for a refusal."""
        assert self.swap is not None
        swap, lab, when = self.swap, self.refstd.lab, self.refstd.when()
        with_cable = cable.strip() if thing == "cable" else ""
        self.ask(
            lambda: step_to_make(lab, swap.number, thing, setup, with_cable, when),
            lambda step: self.app.push_screen(SwapCheck(swap, step)),
            (lambda refusal: self._ask_cable(asked, with_cable, refusal)) if asked else None,
        )

    def action_open_check(self) -> None:
        if self.swap:
            self.open_record("check", self.swap.check)

    def action_open_step(self) -> None:
        if self.swap and self.swap.steps:
            self.open_record("check", self.swap.steps[-1].check)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "open_step":
            return bool(self.swap and self.swap.steps)
        if action == "step":
            possible = (
                self.swap and not self.swap.void and not self.swap.ended and any(p.possible for p in self.swap.plan)
            )
            return bool(possible) and super().check_action(action, parameters)
        return True


class SwapsPage(ListPage):
    """The swap tests, newest first. Enter opens one, to go on with it or to read it."""

    HEADING = "Swap tests"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("number", 8), Col("begun", 16), Col("check", 8), Col("notch", 10), Col("steps", 5, right=True), Col("says"),
    )  # fmt: skip
    EMPTY = "no swap test on record; one begins from a check (w on its page)"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (WRITE, BACK, *EVERYWHERE)

    def load(self) -> None:
        self.ask(lambda: swaps(self.refstd.lab, self.refstd.when()), self.show_swaps)

    def show_swaps(self, found: tuple[SwapShown, ...]) -> None:
        """Show the swap tests that were read."""
        self.fill(
            [
                Row(
                    (s.number, self.local(s.happened_at), s.check, s.notch, str(len(s.steps)), s.headline()), ("swap test", s.number),
                    f"{s.number}, suspected: {s.suspected}\n{s.headline()}",
                )
                for s in found
            ]
        )  # fmt: skip

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "swaps")


class SwapCheck(CheckScreen):
    """The check of a step: one thing exchanged, everything else as it was first."""

    def __init__(self, swap: SwapShown, step: StepToMake) -> None:
        super().__init__(setup=step.setup, occasion="swap test", procedure=swap.procedure)
        self.swap, self.step = swap, step
        self.thing = step.exchanged
        self.hand.says = f"Exchanged: {step.in_words()}. All else as in check {swap.check}."

    def _gathered(self) -> InHand:
        found = super()._gathered()
        items = status(self.refstd.lab, self.step.kit, self.refstd.when())
        return InHand(items, found.setups, found.sheets, self.step.cable, self.step.adapter)

    def put_on_record(
        self, draft: CheckDraft, readings: list[ReadingDraft], again: list[ReadingDraft], repeat: CheckDraft | None
    ) -> None:
        """Keep the check and the step in one act; a step knows no repeat after a remedy, which would be a second exchange."""
        app, number, thing = self.refstd, self.swap.number, self.thing
        self.act(
            lambda operation: record_step(
                app.lab, number, thing, draft, readings, by=app.by, now=app.now(), operation=operation
            ),
            self.kept_step,
        )

    def kept_step(self, kept: StepKept) -> None:
        """Go back to the swap test, which reads what the step says."""
        says = f"{kept.step.result}: check {kept.step.check}"
        self.notify(safe(says), title=f"{self.thing} exchanged", timeout=8, markup=False)
        self.app.pop_screen()


def _cables(step: PlannedStep) -> str:
    """Return which cables on record can come in, and why others cannot."""
    more = f" and {len(step.cables) - 8} more" if len(step.cables) > 8 else ""
    lines = [
        f"on record: {', '.join(step.cables[:8])}{more}" if step.cables else "no other cable on record can come in"
    ]
    return "\n".join([*lines, *(f"✗ {why}" for why in step.against[:6])])


def _short(reason: Reason) -> str:
    """Return figure and limit, or why the notch cannot be followed."""
    if not reason.limit:
        return reason.says
    least = reason.limit.removeprefix("at least ")
    return f"{reason.figure}" + (
        f", too small: from {least} on" if reason.weight is Weight.STOPS else f" (from {least} on)"
    )


def _words(s: SwapShown) -> RenderableType:
    """Return what the steps say and what to do first, then the steps, the newest first, then what it rests on."""
    d = s.deviation
    lines = _under("They say" if s.steps else "Now", [Text(safe(s.headline()), style="bold")])
    lines += _under("Do now", [Text(safe(s.conclusion.cure))] if not (s.void or s.ended) else [])
    lines += _under("Confirm", [Text(safe(kit)) for kit in s.confirm])
    lines += _under("Ended", [Text(safe(s.ended))] if s.ended else [])
    lines += _under("Steps", [_step(x) for x in reversed(s.steps)])
    off = f"{s.why + '; ' if s.why else ''}{d.says} {d.figure}, limit {d.limit} [{d.record}]"
    lines += _under("Why", [Text(safe(off))])
    lines += _under("Suspected", [Text(safe(s.suspected))])
    lines += _under("Limits", [Text(safe(f"from: {d.source}"), style="dim"), Text(ADVISES, style="dim")])
    return hanging(lines, 10)


def _under(word: str, texts: list[Text]) -> list[Pair]:
    return [(Text(word if n == 0 else "", style="bold"), text) for n, text in enumerate(texts)]


def _step(x: StepShown) -> Text:
    """Return what a step's check said: word, figures and limits; the source of the limits stands once, below."""
    told = x.says.split(" (prediction interval")[0]
    void = f" COUNTS NO LONGER: corrected by {x.corrected_by}" if not x.counts else ""
    return Text(safe(f"{_SIGNS[x.result]} {x.exchanged}, {x.instead} in its place ({x.check}): {told}{void}"))


def _asked(s: SwapShown) -> str:
    if s.void or s.ended:
        return "No further step."
    if not any(p.possible for p in s.plan):
        return "Nothing can be exchanged now:"
    if s.conclusion.settled:
        return "You may stop here, or exchange more to make sure:"
    return "Exchange one thing, everything else as it was first:" if s.next else "Nothing new to exchange; once more:"


def _entry(p: PlannedStep) -> RenderableType:
    if not p.possible:
        return Text(safe(f"  {p.exchanged}: {p.missing}"), style="not bold")
    before = f"; so far: {', '.join(p.results)}" if p.results else ""
    return Text(safe(f"{p.exchanged}: {p.comes_in}{before}"))
