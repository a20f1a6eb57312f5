"""The steps of a response check up to the readings: items in hand, occasion, settings, preparation, notches."""

from collections.abc import Mapping, Sequence
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.events import Key
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import Problem
from refstd.base.reason import Reason
from refstd.base.text import safe, safe_lines
from refstd.desk.checks import CheckSheet
from refstd.desk.homes import SetupInHand
from refstd.desk.serviceability import Status
from refstd.tui.technician.underway import SETTINGS, TEMPERATURES, TITLES, settings_in_words, settings_of
from refstd.tui.widgets.menu import Entry, Menu
from refstd.tui.widgets.verdict import items_table, reason_line

OCCASIONS = {
    "start": "before the work: later checks are compared with this one",
    "interim": "during the work, in the procedure's interval",
    "end": "at the end of the work: closes the start check",
    "exchange": "probe, cable, block or instrument was exchanged",
    "operator": "another operator takes over",
    "doubt": "a knock, a doubt, something looked wrong",
}


TICKS = ("nulled", "phase-set")


class Step(Vertical):
    """One step: a line that says what was done, and below it, while its turn is, what to do."""

    head = "step"

    class Finished(Message):
        """The step is done; `value` is what it yields."""

        def __init__(self, step: "Step") -> None:
            super().__init__()
            self.step = step

    def compose(self) -> ComposeResult:
        yield Static("", classes="step-line", markup=False)
        with Vertical(classes="step-body"):
            yield from self.body()
        yield Static("", classes="step-says", markup=False)

    def body(self) -> ComposeResult:
        """Compose what the step asks."""
        yield from ()

    def summary(self) -> str:
        """Return what was done, in one line."""
        return ""

    def begin(self) -> None:
        """Take the focus, at once: a key typed ahead must not end in the field of the step before."""

    def enter(self, at: Widget) -> bool:
        """Take Enter, pressed at one of its widgets, and return whether the step is done."""
        return True

    def mark(self, sign: str, *, active: bool, done: bool) -> None:
        """Show the line as done (✓), as the present step (▸), or as one to come."""
        self.set_class(active, "-active")
        says = f"{sign} {self.head:<9} {safe(self.summary()) if done else ''}"
        style = "bold" if active else ("" if done else "dim")
        self.query_one(".step-line", Static).update(Text(says, style=style, no_wrap=True, overflow="ellipsis"))

    def say(self, *lines: Text | str) -> None:
        """Say below the step what stands against going on."""
        shown = [Text(f"! {safe_lines(x)}", style="bold") if isinstance(x, str) else x for x in lines]
        says = self.query_one(".step-says", Static)
        says.update(Text("\n").join(shown))
        says.set_class(bool(lines), "-shown")

    def say_at(self, problems: Sequence[Problem], *fields: str) -> bool:
        """Say below each of these rows what is wrong with it, go to the first that is wrong, and return whether one is."""
        for name in fields:
            wrong = [f"! {safe(p.wrong)}. {safe(p.remedy)}" for p in problems if p.where == name]
            shown = self.query_one(f"#wrong-{name}", Static)
            shown.update(Text("\n".join(wrong)))
            shown.set_class(bool(wrong), "-shown")
        first = next((name for name in fields if any(p.where == name for p in problems)), "")
        if first:
            self.screen.set_focus(self.query_one(f"#{first}"))
        return bool(first)

    def finish(self) -> None:
        self.say()
        self.post_message(self.Finished(self))


def field_of(name: str, title: str) -> ComposeResult:
    """Yield a field in a row of its own, and below it the row where what is wrong with it is said."""
    with Horizontal(classes="field"):
        yield Static(title, classes="name", id=f"{name}-name", markup=False)
        yield Input(id=name, compact=True)
    yield Static(id=f"wrong-{name}", classes="problem", markup=False)


class HandStep(Step):
    """Which setup, and that these items are really in hand."""

    head = "in hand"
    says = ""  # what is said of these items before the question

    def body(self) -> ComposeResult:
        yield Static("", classes="items", markup=False)
        yield Static("", classes="ask", markup=False)
        yield Menu(id="setups")

    def show(self, items: Sequence[Status], setups: Sequence[SetupInHand], chosen: str, told: Sequence[Reason]) -> None:
        """Show the items with their verdicts, the setups that they make, what stops a check, and who can't sign for lots."""
        self.setups = {s.setup.number: s for s in setups}
        self.query_one(".items", Static).update(items_table(items))
        one = len(setups) == 1
        asks = "Are these in hand? Enter confirms." if one else "Which setup is in hand? A digit, or Enter, confirms."
        self.query_one(".ask", Static).update(Text(safe(f"{self.says} {asks}".strip())))
        menu = self.query_one(Menu)
        menu.show([Entry(s.setup.number, Text(_setup_words(s))) for s in setups], chosen)
        self.say(*[reason_line(r) for r in told])

    @property
    def chosen(self) -> SetupInHand:
        return self.setups[self.query_one(Menu).chosen]

    def summary(self) -> str:
        return self.chosen.setup.in_words()

    def begin(self) -> None:
        self.screen.set_focus(self.query_one(Menu))

    @on(Menu.OptionSelected)
    def confirm(self, event: Menu.OptionSelected) -> None:
        event.stop()
        self.post_message(self.Finished(self))


class OccasionStep(Step):
    """Why the check is made; the likely occasion is highlighted."""

    head = "occasion"
    sheet: CheckSheet | None = None

    def body(self) -> ComposeResult:
        yield Menu(id="occasions")

    def show(self, likely: str) -> None:
        entries = [Entry(k, Text(f"{k:<9} {says}")) for k, says in OCCASIONS.items()]
        self.query_one(Menu).show(entries, likely)

    @property
    def chosen(self) -> str:
        return self.query_one(Menu).chosen

    def summary(self) -> str:
        start = self.sheet.start_check if self.sheet else ""
        return self.chosen + (f", compared with start check {start}" if start else "")

    def begin(self) -> None:
        self.screen.set_focus(self.query_one(Menu))

    @on(Menu.OptionSelected)
    def choose(self, event: Menu.OptionSelected) -> None:
        event.stop()
        self.post_message(self.Finished(self))


class SettingsStep(Step):
    """Rotation and gains: unchanged is one key where a start check stands."""

    head = "settings"

    def body(self) -> ComposeResult:
        yield Menu(id="as-before")
        with Vertical(classes="typed"):
            for name in SETTINGS:
                yield from field_of(name, TITLES[name])

    def show(self, sheet: CheckSheet, typed: Mapping[str, str]) -> None:
        """Offer the settings of the start check, or fields filled with the last ones on record."""
        self.sheet = sheet
        before = settings_of(sheet)
        for name, value in (dict(before) | {k: v for k, v in typed.items() if v}).items():
            self.query_one(f"#{name}", Input).value = value
        self.may_be_unchanged = bool(sheet.start_check)
        same = Text(f"unchanged ({sheet.start_check}): {settings_in_words(before)}")
        self.query_one(Menu).show([Entry("unchanged", same), Entry("changed", Text("changed: type them"))])
        self._typing(not self.may_be_unchanged)

    def _typing(self, on: bool) -> None:
        self.query_one(Menu).set_class(on, "hidden")
        self.query_one(".typed").set_class(not on, "hidden")

    @property
    def settings(self) -> dict[str, str]:
        return {name: self.query_one(f"#{name}", Input).value.strip() for name in SETTINGS}

    @property
    def changed(self) -> bool:
        return self.may_be_unchanged and self.settings != settings_of(self.sheet)

    def summary(self) -> str:
        how = ("CHANGED: " if self.changed else "unchanged: ") if self.may_be_unchanged else ""
        return how + settings_in_words(self.settings)

    def begin(self) -> None:
        if self.may_be_unchanged and not self.changed:
            self._typing(False)
            self.screen.set_focus(self.query_one(Menu))
        else:
            self._typing(True)
            self.screen.set_focus(self.query_one(f"#{SETTINGS[0]}"))

    @on(Menu.OptionSelected)
    def answer(self, event: Menu.OptionSelected) -> None:
        event.stop()
        if event.option.id == "unchanged":
            for name, value in settings_of(self.sheet).items():
                self.query_one(f"#{name}", Input).value = value
            self.post_message(self.Finished(self))
            return
        self._typing(True)
        self.say(
            f"With other settings nothing can be compared with start check {self.sheet.start_check}. First close it: put the "
            "settings back and take the end check; then change them and make a new start check."
        )
        self.screen.set_focus(self.query_one(f"#{SETTINGS[0]}"))

    def enter(self, at: Widget) -> bool:
        place = SETTINGS.index(at.id or SETTINGS[-1])
        if at.id != SETTINGS[-1]:
            self.screen.set_focus(self.query_one(f"#{SETTINGS[place + 1]}"))
        return at.id == SETTINGS[-1]

    def on_key(self, event: Key) -> None:
        up_and_down(self, event)


class Tick(Widget, can_focus=True):
    """Something done or not done: nobody has said that it is done until Space does, which also goes on to what comes next."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("space", "turn", "Change", id="turn")]
    done: reactive[bool] = reactive(False)

    def __init__(self, says: str, *, id: str) -> None:
        super().__init__(id=id)
        self.says = says

    def render(self) -> Text:
        return Text(f"{'[x]' if self.done else '[ ]'} {safe(self.says)}")

    def action_turn(self) -> None:
        self.done = not self.done
        if self.done:
            self.screen.focus_next()


class PreparedStep(Step):
    """Nulled, phase reference set, the noise, and the temperatures where they matter."""

    head = "prepared"
    unit = ""
    asks_temperatures = False

    def body(self) -> ComposeResult:
        yield Static("Space ticks what was done; Enter goes on and leaves it as not done.", markup=False)
        yield Tick("balanced (nulled) on the block", id="nulled")
        yield Tick("lift-off set horizontal", id="phase-set")
        yield from field_of("noise", "noise amplitude")
        with Vertical(classes="temperatures"):
            for name in TEMPERATURES:
                yield from field_of(name, TITLES[name].replace("of the", "of"))

    def show(self, sheet: CheckSheet) -> None:
        self.unit = sheet.unit
        reference = self.query_one("#phase-set", Tick)
        reference.says = (
            "lift-off set horizontal"
            if sheet.phase_reference == "lift-off"
            else f"phase set on notch {sheet.phase_reference}"
        )
        reference.refresh()
        self.query_one("#noise-name", Static).update(Text(f"noise amplitude, {sheet.unit}"))
        self.asks_temperatures = sheet.asks_temperatures
        self.query_one(".temperatures").set_class(not sheet.asks_temperatures, "hidden")

    @property
    def nulled(self) -> bool:
        return self.query_one("#nulled", Tick).done

    @property
    def phase_set(self) -> bool:
        return self.query_one("#phase-set", Tick).done

    @property
    def noise(self) -> str:
        return self.query_one("#noise", Input).value.strip()

    @property
    def temperatures(self) -> dict[str, str]:
        return {n: self.query_one(f"#{n}", Input).value.strip() for n in TEMPERATURES if self.asks_temperatures}

    def summary(self) -> str:
        reference = self.query_one("#phase-set", Tick)
        noise = f"noise {self.noise} {self.unit}" if self.noise else "noise not recorded"
        warmth = [f"{n.split('_')[0]} {value} °C" for n, value in self.temperatures.items() if value]
        nulled = "nulled" if self.nulled else "NOT nulled"
        return ", ".join((nulled, f"{'' if reference.done else 'NOT '}{reference.says}", noise, *warmth))

    def enter(self, at: Widget) -> bool:
        fields = [*TICKS, "noise", *self.temperatures]
        place = fields.index(at.id) if at.id in fields else len(fields) - 1
        if place + 1 < len(fields):
            self.screen.set_focus(self.query_one(f"#{fields[place + 1]}"))
            return False
        return True

    def begin(self) -> None:
        undone = next((name for name in TICKS if not self.query_one(f"#{name}", Tick).done), "noise")
        self.screen.set_focus(self.query_one(f"#{undone}"))

    def on_key(self, event: Key) -> None:
        up_and_down(self, event)


def up_and_down(step: Step, event: Key) -> None:
    """Let ↑ and ↓ walk through the fields of a step, where no list needs them."""
    if event.key in ("up", "down") and isinstance(step.screen.focused, Input | Tick):
        event.stop()
        if event.key == "down":
            step.screen.focus_next(f"{type(step).__name__} *")
        else:
            step.screen.focus_previous(f"{type(step).__name__} *")


def _setup_words(ready: SetupInHand) -> str:
    start = f", start check {ready.start_check}" if ready.start_check else ""
    event = f"; {ready.event}: a new start check is asked for" if ready.event else ""
    return safe(f"{ready.setup.in_words()}, {ready.setup.measure}{start}{event}")
