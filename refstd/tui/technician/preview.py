"""What was read, before it is kept: figures, likely slips, picture, and the one repeat after a remedy."""

from collections.abc import Sequence
from decimal import Decimal

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widget import Widget
from textual.widgets import Static

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import safe
from refstd.desk.check_values import one_figure
from refstd.desk.checks import Preview, ReadingDraft
from refstd.tui.pictures import drawing_of
from refstd.tui.technician.steps import Step
from refstd.tui.technician.underway import BOTH

REMEDIES = ("connector", "tape", "gain", "block wiped")


class PreviewStep(Step):
    """Look at what was read. Nothing is on record yet."""

    head = "look"
    may_repeat = False

    def body(self) -> ComposeResult:
        with Horizontal():
            with VerticalScroll(classes="read"):
                yield Static("", classes="table", markup=False)
                yield Static("", classes="marks", markup=False)
            yield Vertical(classes="picture")
        yield Static("", classes="offer", markup=False)

    async def show(self, found: Preview, readings: Sequence[ReadingDraft], measure: str, *, last: bool) -> None:
        """Show figures, marks and picture; `last` when no further repeat is allowed."""
        self.may_repeat = found.may_repeat and not last
        self.query_one(".table", Static).update(_table(found, readings, measure))
        self.query_one(".marks", Static).update(_marks(found))
        self.query_one(".offer", Static).update(
            Text(_offer(found, may_repeat=self.may_repeat, last=last), style="bold")
        )
        room = self.query_one(".picture", Vertical)
        await room.remove_children()
        await room.mount(drawing_of(found.picture))

    def begin(self) -> None:
        self.screen.set_focus(self.query_one(".read"))

    def enter(self, at: Widget) -> bool:
        return False  # it is kept by a key of its own


def _table(found: Preview, readings: Sequence[ReadingDraft], measure: str) -> Table:
    """Return the readings as typed, each with '!' where it looks mistyped."""
    both = measure == BOTH
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column("notch", no_wrap=True)
    for title in ("horizontal", "vertical") if both else (one_figure(measure),):
        table.add_column(title, justify="right", no_wrap=True)
    table.add_column("", no_wrap=True)
    slipped = {s.notch.casefold() for s in found.slips}
    for r in readings:
        vertical = "≥ full screen" if r.full_screen else _figure(r.vertical)
        cells = [_figure(r.horizontal), vertical] if both else [vertical]
        sign = "!" if r.notch.casefold() in slipped else ""
        table.add_row(Text(safe(r.notch)), *map(Text, cells), Text(sign, style="bold"))
    return table


def _figure(value: Decimal | None) -> str:
    return "" if value is None else plain(value)


def _marks(found: Preview) -> Text:
    """Return what looks mistyped, and which limits the readings do not keep; the verdict comes when they are kept."""
    lines: list[Text] = [Text(f"in {found.picture.unit}; not on record yet", style="dim")]
    if found.slips:
        lines.append(Text("Likely slips of the pen:", style="bold"))
        lines += [Text(f"! {safe(s.says)}") for s in found.slips]
    against = [r for r in found.reasons if r.weight in (Weight.STOPS, Weight.UNDECIDED)]
    if against:
        lines.append(Text("Not as asked (no verdict yet):", style="bold"))
        lines += [Text(f"! {_short(r)}") for r in against]
    compared = [c for c in found.figures if c.amplitude_db is not None]
    if compared:
        lines.append(Text("Against the baseline (decides nothing):", style="bold"))
        lines += [Text(f"· {safe(c.notch)}: {c.figure()}") for c in compared]
        lines += [Text(f"  {basis}", style="dim") for basis in dict.fromkeys(c.basis() for c in compared)]
    return Text("\n").join(lines)


def _offer(found: Preview, *, may_repeat: bool, last: bool) -> str:
    """Return what can be done now, in one or two lines."""
    correct = "Esc goes back to correct; " if found.slips else ""
    if may_repeat:
        return f"{correct}r repeats once after a remedy ({', '.join(REMEDIES)}), both sets are kept; y keeps this set alone."
    if last:
        return f"The repeat is used. {correct}y keeps both sets and gives the verdict."
    return f"{correct}y keeps the check and gives the verdict."


def _short(reason: Reason) -> str:
    """Return sentence and figure against its limit; the verdict has the reason in full."""
    return safe(reason.says) + (f", {safe(reason.figure)}, limit {safe(reason.limit)}" if reason.limit else "")
