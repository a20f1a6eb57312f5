"""A record in sections, each a key away: text, a list, a verdict or a picture."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.cells import cell_len
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, VerticalScroll
from textual.widget import Widget
from textual.widgets import ContentSwitcher, Static

from refstd.base.text import safe, safe_lines
from refstd.desk.checks import CheckVerdict, Picture
from refstd.desk.serviceability import Verdict
from refstd.tui.pages import Page
from refstd.tui.pictures import drawing_of
from refstd.tui.widgets.rows import READING, Col, Row, Rows
from refstd.tui.widgets.verdict import VerdictPanel


@dataclass(frozen=True, slots=True)
class Section:
    """One section: rows under columns, or text, or a verdict, or a check's picture with its own readings' name."""

    title: str
    columns: tuple[Col, ...] = ()
    rows: tuple[Row, ...] = ()
    empty: str = ""
    text: str = ""
    standing: Verdict | None = None
    check: CheckVerdict | None = None
    picture: Picture | None = None


class Strip(Static):
    """The sections with their keys; wraps between titles, never inside one."""

    titles: tuple[str, ...] = ()
    at = 0

    def show(self, sections: Sequence[Section], at: int) -> None:
        """Show these sections, that one open."""
        counts = (f" ({len(s.rows)})" if s.columns and s.rows else "" for s in sections)
        self.titles = tuple(
            f"{(n + 1) % 10} {s.title}{c}" for n, (s, c) in enumerate(zip(sections, counts, strict=True))
        )
        self.at = at
        self.refresh(layout=True)

    def render(self) -> Text:
        text, used = Text(), 0
        for n, title in enumerate(self.titles):
            if used and used + cell_len(title) + 3 > self.size.width:
                text.append("\n")
                used = 0
            elif used:
                text.append(" ")
            text.append(f"[{title}]" if n == self.at else f" {title} ", "bold reverse" if n == self.at else "")
            used += cell_len(title) + 3
        return text


class SectionsPage(Page):
    """A record in sections. Its own page says which; digits and ← → move between them."""

    DEFAULT_CSS = """
    SectionsPage #strip { height: auto; padding: 0 1; }
    SectionsPage #sum { height: auto; padding: 0 1; max-height: 4; }
    SectionsPage #stands { height: auto; padding: 0 1; max-height: 3; text-style: bold; }
    SectionsPage ContentSwitcher { height: 1fr; }
    SectionsPage #text { height: 1fr; padding: 0 1; }
    SectionsPage #drawing { height: 1fr; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(Binding(str(n % 10), f"section({n})", show=False) for n in range(1, 11)),
        Binding("left", "step(-1)", "Section before", show=False, priority=True),
        Binding("right", "step(1)", "Next section", show=False, priority=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.sections: tuple[Section, ...] = ()
        self.at = 0

    def body(self) -> ComposeResult:
        yield Static(id="sum", markup=False)
        yield Static(id="stands", markup=False)
        yield Strip(id="strip", markup=False)
        with ContentSwitcher(initial="text"):
            with VerticalScroll(id="text"):
                yield Static(id="words", markup=False)
            yield Rows(id="rows")
            yield VerdictPanel(id="verdict")
            yield Container(id="drawing")
        yield Static(classes="about", id="about", markup=False)

    def on_mount(self) -> None:
        self.query_one("#about").display = False
        self.say("#sum", READING)

    def show(self, head: str, summary: str, sections: Sequence[Section], stands: str = "") -> None:
        """Show the record: its name in the heading, a line that sums it up, and the sections.

        `stands` is the headline of its verdict, in view beside every section that is not the verdict itself.
        """
        self.head(head)
        self.say("#sum", summary)
        self.say("#stands", stands)
        self.sections = tuple(sections)
        self.at = min(self.at, len(self.sections) - 1)
        self._open()

    @property
    def section(self) -> str:
        """Return the title of the section that is open."""
        return self.sections[self.at].title if self.sections else ""

    def action_section(self, number: int) -> None:
        if number <= len(self.sections):
            self.at = number - 1
            self._open()

    def action_step(self, by: int) -> None:
        if self.sections:
            self.at = (self.at + by) % len(self.sections)
            self._open()

    def _open(self) -> None:
        section = self.sections[self.at]
        self.query_one(Strip).show(self.sections, self.at)
        self.query_one("#about").display = False
        says = self.query_one("#stands", Static)
        says.display = bool(str(says.content)) and section.standing is None and section.check is None
        self.query_one(ContentSwitcher).current = self._fill(section)
        self._focus_on(self.query_one(f"#{self.query_one(ContentSwitcher).current}"))
        self.refresh_bindings()

    def _focus_on(self, widget: Widget) -> None:
        inside = [widget, *widget.query("*")]
        self.set_focus(next((w for w in inside if w.can_focus), None))

    def _fill(self, section: Section) -> str:
        """Put the section into the widget that shows its kind, and return that widget's id."""
        if section.picture is not None:
            box = self.query_one("#drawing", Container)
            box.remove_children()
            box.mount(drawing_of(section.picture))
            return "drawing"
        if section.standing is not None or section.check is not None:
            panel = self.query_one(VerdictPanel)
            panel.unfolded = True
            if section.check is not None:
                panel.show_check(section.check)
            elif section.standing is not None:
                panel.show_standing(section.standing)
            return "verdict"
        if section.columns:
            rows = self.query_one(Rows)
            rows.empty = section.empty or rows.empty
            rows.fill(section.rows, section.columns)
            return "rows"
        self.query_one("#words", Static).update(Text(safe_lines(section.text)))
        return "text"

    @on(Rows.Moved)
    def _moved(self, event: Rows.Moved) -> None:
        about = self.query_one("#about", Static)
        shown = bool(self.sections and self.sections[self.at].columns and event.row and event.row.about)
        about.display = shown
        if shown and event.row is not None:
            about.update(Text(safe_lines(event.row.about)))


def fact_lines(*facts: tuple[str, object]) -> str:
    """Return named facts, one a line; empty ones are left out."""
    return "\n".join(f"{name}: {safe_lines(value)}" for name, value in facts if safe(value))
