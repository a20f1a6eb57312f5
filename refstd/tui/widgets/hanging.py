"""Lines whose continuation stays under their text, so that what stands in front of them is found at a glance."""

from collections.abc import Iterable

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

Pair = tuple[Text, RenderableType]


def hanging(pairs: Iterable[Pair], width: int, indent: int = 0) -> Table:
    """Return lines of (what stands in front, text): the first in a column of that width, the text wrapped beside it."""
    table = Table.grid(padding=0, expand=True)
    table.add_column(width=indent)
    table.add_column(width=width)
    table.add_column(ratio=1)
    for lead, text in pairs:
        table.add_row("", lead, text)
    return table
