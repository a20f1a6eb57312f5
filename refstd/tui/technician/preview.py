"""What was read, before it is kept: figures, likely slips, picture, and the one repeat after a remedy."""

from collections.abc import Sequence
from decimal import Decimal

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Static

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import safe
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

    async def show(self, found: Preview, readings: Sequence[ReadingDraft], measure: str, *, last: bool) -> None:
        """Show figures, marks and picture; `last` when no further repeat is allowed."""
        self.may_repeat = found.may_repeat and not last
        self.query_one(".table", Static).update(_table(found, readings, measure))
        self.query_one(".marks", Static).update(_marks(found, may_repeat=self.may_repeat, last=last))
        room = self.query_one(".picture", Vertical)
        await room.remove_children()
        await room.mount(drawing_of(found.picture))

    def begin(self) -> None:
        self.query_one(".read").focus()


def _table(found: Preview, readings: Sequence[ReadingDraft], measure: str) -> Table:
    """Return the readings as typed, each with '!' where it looks mistyped."""
    both = measure == BOTH
    table = Table(box=None, padding=(0, 1, 0, 0), pad_edge=False)
    table.add_column("notch", no_wrap=True)
    for title in ("horizontal", "vertical") if both else ("vertical",):
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


def _marks(found: Preview, *, may_repeat: bool, last: bool) -> Text:
    lines: list[Text] = [Text(f"in {found.picture.unit}; not on record yet", style="dim")]
    if found.slips:
        lines.append(Text("Likely slips of the pen; Esc goes back to correct:", style="bold"))
        lines += [Text(f"! {safe(s.says)}") for s in found.slips]
    against = [r for r in found.reasons if r.weight in (Weight.STOPS, Weight.UNDECIDED)]
    if against and (may_repeat or last):
        lines.append(Text("Before a verdict, against what was asked:", style="bold"))
        lines += [Text(f"! {_short(r)}") for r in against]
    if may_repeat:
        lines.append(
            Text(
                f"One repeat is allowed after a named remedy ({', '.join(REMEDIES)}): r. Both sets are kept. "
                "Or y keeps this set as it is.",
                style="bold",
            )
        )
    elif last:
        lines.append(Text("The repeat is used; y keeps both sets.", style="bold"))
    elif found.slips:
        lines.append(Text("If they are right, y keeps them.", style="bold"))
    else:
        lines.append(Text("y keeps the check.", style="bold"))
    return Text("\n").join(lines)


def _short(reason: Reason) -> str:
    """Return sentence and figure against its limit; the verdict has the reason in full."""
    return safe(reason.says) + (f", {safe(reason.figure)}, limit {safe(reason.limit)}" if reason.limit else "")
