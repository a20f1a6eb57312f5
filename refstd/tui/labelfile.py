"""Printing labels to a file: the size is chosen, the path is asked for, and what exists is never overwritten."""

from collections.abc import Sequence
from pathlib import Path

from refstd.desk.labels import labels
from refstd.printing.labels import SIZES, size_of, to_labels
from refstd.tui.asking import AskLine, Choose
from refstd.tui.certificatepage import write_new
from refstd.tui.commands import Command
from refstd.tui.pages import Page

LABELS = Command(
    "m",
    "labels",
    "Labels",
    "Write labels to print: a code with the asset number, state, due dates, the day.",
    in_footer=False,
)
_SHOWN = [
    f"{name.replace('x', ' x ')} mm, {'one a page' if s.columns * s.rows == 1 else f'{s.columns * s.rows} a page'}"
    for name, s in SIZES.items()
]


def write_labels(page: Page, asset_nos: Sequence[str]) -> None:
    """Ask for size and path and write the labels of these items there."""
    app = page.refstd
    day = app.now().astimezone(app.zone)
    about = asset_nos[0] if len(asset_nos) == 1 else f"{len(asset_nos)}-items"

    def chosen(size: str | None) -> None:
        if size is None:
            return

        def given(path: str | None) -> None:
            if not path or not path.strip():
                return
            lab, when, target = app.lab, app.when(), Path(path.strip()).expanduser()
            page.ask(
                lambda: write_new(target, to_labels(labels(lab, when, asset_nos), size_of(size))),
                lambda done: page.tell(f"written: {done}. Print at 100 %, without fitting to the page."),
            )

        app.push_screen(AskLine("Write the labels to which PDF file?", f"labels-{about}-{day:%Y-%m-%d}.pdf"), given)

    what = "a label" if len(asset_nos) == 1 else f"{len(asset_nos)} labels"
    app.push_screen(Choose(f"Print {what} of which size?", list(SIZES), _SHOWN), chosen)
