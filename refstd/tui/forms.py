"""A form for anything that is put on record: one row a field, a problem below its field, nothing lost on a refusal."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, ClassVar, Generic, TypeVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.events import DescendantBlur, DescendantFocus, Key
from textual.message import Message
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Input, Static

from refstd.base.errors import BadInput, Problem, Refusal
from refstd.base.text import safe, safe_lines
from refstd.desk.entry import Draft, FormField, fields_of, read_draft
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.screens import LabScreen
from refstd.tui.widgets.footer import KeyFooter

D = TypeVar("D", bound=Draft)
Parts = Mapping[str, tuple[Any, ...]]
FREE = ""  # the choice of a field that may stay empty
LEAVE = ("stay", "leave")
LOST = "Leave? What was typed is not on record and would be lost."


@dataclass(frozen=True, slots=True)
class Part:
    """Something that a record has several of, such as the notches of a block: each is a form of its own."""

    name: str
    kind: type[Draft]
    says: Callable[[Any], str]


class ChoiceField(Widget, can_focus=True):
    """A field with a closed set of choices: typing its beginning or its digit chooses, ← and → step through."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Previous", show=False),
        Binding("right,space", "step(1)", "Next", show=False),
    ]
    value: reactive[str] = reactive("")

    class Changed(Message):
        """Another choice was made."""

    def __init__(self, choices: Sequence[str], value: str = "", *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.choices = tuple(choices)
        self._typed = ""
        self.set_reactive(ChoiceField.value, value)

    def render(self) -> Text:
        shown = safe(self.value) or "—"
        if not self.has_focus:
            return Text(shown, no_wrap=True, overflow="ellipsis")
        return Text(f"‹ {shown} ›", no_wrap=True, overflow="ellipsis")

    def watch_value(self) -> None:
        self.post_message(self.Changed())

    def action_step(self, by: int) -> None:
        if self.choices:
            place = self.choices.index(self.value) if self.value in self.choices else (-1 if by > 0 else 0)
            self.value = self.choices[(place + by) % len(self.choices)]

    def on_blur(self) -> None:
        self._typed = ""

    def on_key(self, event: Key) -> None:
        """Choose by what is typed: the beginning of a choice, letter by letter; a digit counts where no choice begins so."""
        character = (event.character or "").casefold()
        if not character or not event.is_printable or character == " ":
            return
        event.stop()
        for typed in (self._typed + character, character):
            found = next((c for c in self.choices if c.casefold().startswith(typed)), None)
            if found is not None:
                self._typed, self.value = typed, found
                return
            if self._typed:  # a further character that fits no choice never jumps to another one
                return
        if character.isdigit() and 1 <= int(character) <= min(len(self.choices), 9):
            self.value = self.choices[int(character) - 1]


class PartLine(Static, can_focus=True):
    """One part that was given: Enter opens it again, Del takes it out."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Open", id="open_part"),
        Binding("delete,backspace", "remove_part", "Take out", id="remove_part"),
    ]

    class Asked(Message):
        """Somebody wants this part opened or taken out."""

        def __init__(self, line: "PartLine", take_out: bool) -> None:
            super().__init__()
            self.line, self.take_out = line, take_out

    def __init__(self, part: Part, values: dict[str, str], draft: Draft) -> None:
        super().__init__(Text(f"{part.name}: {safe(part.says(draft))}"), markup=False)
        self.part, self.values, self.draft = part, values, draft

    def action_open(self) -> None:
        self.post_message(self.Asked(self, take_out=False))

    def action_remove_part(self) -> None:
        self.post_message(self.Asked(self, take_out=True))


class KeepButton(Static, can_focus=True):
    """The last row of a form: Enter puts it on record."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter", "screen.keep", "Put on record", show=False)]


class FormScreen(LabScreen, Generic[D]):
    """Fill in a form and put it on record.

    `keep(draft, parts, operation)` is the desk's act; it runs in a worker, and `then` gets its answer on the screen that
    opened the form. `given` fills fields in; `choices` offers values from the records for a field; `leave_out` hides
    fields that were decided before and are in `given`.
    """

    KEEP: ClassVar[str] = "Put on record"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f2", "keep", KEEP, "Put the form on record; what is wrong is said at its field."),
        Command("f3", "add_part", "Add a part", "Add one more of what the record has several of, such as a notch."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(
        self,
        title: str,
        kind: type[D],
        keep: Callable[[D, Parts, str], Any],
        then: Callable[[Any], None] = lambda _: None,
        *,
        given: Mapping[str, str] | None = None,
        choices: Mapping[str, Sequence[str]] | None = None,
        leave_out: Sequence[str] = (),
        parts: Sequence[Part] = (),
        note: str = "",
    ) -> None:
        super().__init__()
        self.form_title, self.kind, self.keep, self.then, self.note = title, kind, keep, then, note
        self.given, self.parts = dict(given or {}), tuple(parts)
        self.choices = {k: tuple(v) for k, v in (choices or {}).items() if v}
        self.fields = [f for f in fields_of(kind) if f.key not in leave_out]
        self._opened: dict[str, str] = {}
        self._refused: tuple[dict[str, str], tuple[Problem, ...]] = ({}, ())  # what was typed, and what was wrong

    def compose(self) -> ComposeResult:
        yield Static(Text(safe(self.form_title)), classes="title", markup=False)
        if self.note:
            yield Static(Text(safe_lines(self.note)), classes="note", markup=False)
        yield Static("", id="refusal", markup=False)
        with VerticalScroll(id="form", can_focus=False):
            for field in self.fields:
                with Horizontal(classes="field"):
                    mark = " *" if field.needed else ""
                    yield Static(Text(f"{field.title}{mark}"), classes="name", markup=False)
                    yield self._entry(field)
                yield Static("", id=f"problem-{field.key}", classes="problem", markup=False)
            if self.parts:
                yield Vertical(id="parts")
            yield KeepButton(f"{self.KEEP}: Enter, or F2 from anywhere", markup=False)
        yield Static("", id="hint", markup=False)
        yield KeyFooter()

    def _entry(self, field: FormField) -> Widget:
        value = safe(self.given.get(field.key, field.default))  # a store may hold what entry would refuse
        choices = self._choices(field)
        if choices:
            return ChoiceField(choices, value, id=f"field-{field.key}")
        return Input(value, id=f"field-{field.key}", compact=True, select_on_focus=False)

    def _choices(self, field: FormField) -> tuple[str, ...]:
        closed = (
            self.choices.get(field.key) or field.choices or (("yes", "no") if field.default in ("yes", "no") else ())
        )
        if closed and not field.needed and not field.default and FREE not in closed:
            return (*closed, FREE)
        return closed

    def on_mount(self) -> None:
        self._opened = self.values()
        self._first_empty().focus()

    def _first_empty(self) -> Widget:
        for field in self.fields:
            if field.needed and not self.given.get(field.key, field.default):
                return self.query_one(f"#field-{field.key}")
        return self.query_one(f"#field-{self.fields[0].key}")

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return bool(self.parts) if action == "add_part" else True

    # What is typed

    def values(self) -> dict[str, str]:
        """Return what stands in the fields, with what was given for the hidden ones."""
        typed = {f.key: self._typed(f.key) for f in self.fields}
        return {k: v for k, v in (self.given | typed).items() if v or k in typed}

    def _typed(self, key: str) -> str:
        entry = self.query_one(f"#field-{key}")
        assert isinstance(entry, Input | ChoiceField)
        return entry.value

    @on(DescendantFocus)
    def hint(self, event: DescendantFocus) -> None:
        entry = event.widget
        field = next((f for f in self.fields if entry.id == f"field-{f.key}"), None)
        says = "" if field is None else _hint(field, entry.choices if isinstance(entry, ChoiceField) else ())
        self.query_one("#hint", Static).update(Text(safe(says)))

    @on(Input.Submitted)
    def next_field(self, event: Input.Submitted) -> None:
        if not self._said_at((event.input.id or "").removeprefix("field-")):
            self.focus_next()

    @on(DescendantBlur)
    def left(self, event: DescendantBlur) -> None:
        if isinstance(event.widget, Input):
            self._said_at((event.widget.id or "").removeprefix("field-"))

    def _said_at(self, key: str) -> bool:
        """Say what is wrong with a field once it is left, take back what is mended, and return whether something is wrong."""
        known = {f.key: f for f in self.fields}
        if key not in known:
            return False
        by_field: dict[str, list[Problem]] = {}
        for problem in self._read()[1]:
            by_field.setdefault(problem.where, []).append(problem)
        if not self._typed(key).strip():
            by_field.pop(key, None)  # what is needed is said when the form goes on
        wrong = key in by_field
        typed, refused = self._refused
        for problem in refused if self.values() == typed else ():  # nothing is mended yet
            by_field.setdefault(problem.where.split(", ")[-1], []).append(problem)
        said = [k for k in known if self.query_one(f"#problem-{k}").has_class("-shown")]
        for name in {key, *said}:
            self._say_at(name, by_field.get(name, []))
        return wrong

    def _say_at(self, key: str, found: Sequence[Problem]) -> None:
        shown = self.query_one(f"#problem-{key}", Static)
        shown.update(Text("\n".join(f"! {safe(p.wrong)}. {safe(p.remedy)}" for p in found)))
        shown.set_class(bool(found), "-shown")

    def action_back(self) -> None:
        if self.values() == self._opened:
            super().action_back()
            return
        from refstd.tui.asking import Choose

        self.app.push_screen(Choose(LOST, LEAVE), lambda answer: self.close() if answer == LEAVE[1] else None)

    def on_key(self, event: Key) -> None:
        if isinstance(self.focused, ChoiceField) and event.key == "enter":
            event.stop()
            self.focus_next()
        elif event.key in ("down", "up") and isinstance(self.focused, Input | ChoiceField | KeepButton | PartLine):
            event.stop()
            if event.key == "down":
                self.focus_next()
            else:
                self.focus_previous()

    # Putting it on record

    def action_keep(self) -> None:
        draft, problems = self._read()
        self.show_problems(problems)
        if draft is None:
            return
        kept, parts = draft, self._parts_given()
        self.act(lambda operation: self.keep(kept, parts, operation), self._done)

    def _read(self) -> tuple[D | None, list[Problem]]:
        """Return what stands in the fields as a draft, or its problems."""
        return read_draft(self.kind, {k: v for k, v in self.values().items() if v != "" or k in self.given})

    def _parts_given(self) -> Parts:
        lines = list(self.query(PartLine))
        return {p.name: tuple(x.draft for x in lines if x.part is p) for p in self.parts}

    def _done(self, answer: Any) -> None:
        self.close()
        self.then(answer)

    def refused(self, refusal: Refusal) -> None:
        self.acting = False
        if isinstance(refusal, BadInput):
            self._refused = self.values(), refusal.problems
            self.show_problems(refusal.problems)
        else:
            self._refusal(str(refusal))

    def show_problems(self, problems: Sequence[Problem]) -> None:
        """Say each problem below its field, and at the top what belongs to none; the first field with one gets the focus."""
        by_field: dict[str, list[Problem]] = {f.key: [] for f in self.fields}
        elsewhere: list[Problem] = []
        for problem in problems:
            by_field.get(problem.where.split(", ")[-1], elsewhere).append(problem)
        for key, found in by_field.items():
            self._say_at(key, found)
        self._refusal("\n".join(map(str, elsewhere)))
        wrong = next((k for k, found in by_field.items() if found), None)
        if wrong is not None:
            self.query_one(f"#field-{wrong}").focus()

    def _refusal(self, says: str) -> None:
        refusal = self.query_one("#refusal", Static)
        refusal.update(Text("\n".join(f"! {line}" for line in safe_lines(says).split("\n") if line)))
        refusal.set_class(bool(says), "-shown")

    # Parts

    def action_add_part(self) -> None:
        if len(self.parts) == 1:
            self._open_part(self.parts[0], {}, None)
            return
        from refstd.tui.asking import Choose

        names = [p.name for p in self.parts]
        self.app.push_screen(Choose("Add which?", names), self._add_named)

    def _add_named(self, name: str | None) -> None:
        part = next((p for p in self.parts if p.name == name), None)
        if part is not None:
            self._open_part(part, {}, None)

    def _open_part(self, part: Part, values: dict[str, str], line: PartLine | None) -> None:
        """Open the form of a part; it is put on record with the whole."""
        form: PartForm = PartForm(part, values, partial(self._part_given, part, line))
        self.app.push_screen(form)

    def _part_given(self, part: Part, line: PartLine | None, given: tuple[dict[str, str], Draft]) -> None:
        new = PartLine(part, *given)
        room = self.query_one("#parts", Vertical)
        if line is None:
            room.mount(new)
        else:
            room.mount(new, before=line)
            line.remove()
        self.call_after_refresh(self.query_one(KeepButton).focus)

    @on(PartLine.Asked)
    def part_asked(self, asked: PartLine.Asked) -> None:
        if asked.take_out:
            self.focus_next()
            asked.line.remove()
        else:
            self._open_part(asked.line.part, asked.line.values, asked.line)


class PartForm(FormScreen[Draft]):
    """Fill in one part of a form; it is put on record with the whole."""

    KEEP: ClassVar[str] = "Take it in"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f2", "keep", KEEP, "Take the part into the form."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(
        self, part: Part, values: dict[str, str], given_back: Callable[[tuple[dict[str, str], Draft]], None]
    ) -> None:
        super().__init__(part.name, part.kind, lambda *_: None, given=values)
        self.given_back = given_back

    def action_keep(self) -> None:
        values = {k: v for k, v in self.values().items() if v}
        draft, problems = read_draft(self.kind, values)
        self.show_problems(problems)
        if draft is not None:
            self.close()
            self.given_back((values, draft))


def _hint(field: FormField, choices: Sequence[str]) -> str:
    """Return what belongs into a field: needed or not, its choices by key, its help."""
    says = [f"{field.title}: " + ("needed" if field.needed else "may stay empty")]
    if choices:
        numbered = [f"{n} {c or 'empty'}" if n < 10 else c for n, c in enumerate(choices, start=1)]
        says.append("choose with a digit, first letter or ← →: " + ", ".join(numbered))
    if field.help:
        says.append(field.help)
    return "; ".join(says)
