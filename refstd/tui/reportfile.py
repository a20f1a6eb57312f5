"""Writing a report to a file: the path is asked for, its ending says the form, and what exists is never overwritten."""

from collections.abc import Callable
from pathlib import Path

from refstd.base.errors import Refusal
from refstd.printing import ENDINGS, files_of
from refstd.printing.sheet import Sheet
from refstd.reports.audit import decisions_sheet, traceability_sheet
from refstd.reports.drift import drift_sheet
from refstd.reports.due import due_sheet
from refstd.reports.findings import findings_sheet
from refstd.reports.intervals import intervals_sheet
from refstd.reports.kit import kit_sheet
from refstd.reports.reach import lookback_sheet
from refstd.reports.recall import recall_sheet
from refstd.reports.register import register_sheet
from refstd.reports.suspects import suspects_sheet
from refstd.reports.swaps import swaps_sheet
from refstd.tui.asking import AskLine
from refstd.tui.certificatepage import write_new
from refstd.tui.pages import Page

SHEETS: dict[str, Callable[..., Sheet]] = {
    "decisions": decisions_sheet,
    "due": due_sheet,
    "drift": drift_sheet,
    "findings": findings_sheet,
    "intervals": intervals_sheet,
    "kit": kit_sheet,
    "lookback": lookback_sheet,
    "recall": recall_sheet,
    "register": register_sheet,
    "suspects": suspects_sheet,
    "swaps": swaps_sheet,
    "traceability": lambda lab, when, about: traceability_sheet(lab, when, *about),
}


def write_report(page: Page, name: str, *about: str, **more: int) -> None:
    """Ask for the path and write the report there; `about` is what it is about, if it is about one thing."""
    app = page.refstd
    day = app.when().as_at or app.now()
    subject = "".join(f"-{x}" for x in about)
    proposed = f"{name}{subject}-{day.astimezone(app.zone):%Y-%m-%d}.pdf"
    endings = ", ".join(f".{e}" for e in ENDINGS)

    def given(path: str | None) -> None:
        if not path or not path.strip():
            return
        lab, when, target = app.lab, app.when(), Path(path.strip()).expanduser()
        page.ask(
            lambda: write(SHEETS[name](lab, when, *([about] if about else []), **more), target),
            lambda done: page.tell(f"written: {done}"),
        )

    app.push_screen(
        AskLine(f"Write the {name} report to which file? Its ending says the form: {endings}.", proposed), given
    )


def write(sheet: Sheet, target: Path) -> str:
    """Write a sheet to a new file in the form that its ending names, a long PDF to several, and return where.

    Refused as a whole where one of them exists; what exists is left alone.
    """
    contents = {target.with_name(name): content for name, content in files_of(sheet, target.name).items()}
    written: list[Path] = []
    try:
        for path, content in contents.items():
            written.append(write_new(path, content))
    except Refusal:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return ", ".join(map(str, written))
