"""What a command needs to begin: the store, the acting person, the moment asked for, and how to show an answer."""

import os
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import safe, safe_lines

if TYPE_CHECKING:
    from refstd.desk.store import Lab, When
    from refstd.printing.sheet import Sheet


@dataclass
class Call:
    """One call of the command line: what its options say."""

    db: str = ""
    by: str = ""
    json: bool = False
    as_at: str = ""
    today: str = ""
    plain: bool = False

    def path(self) -> Path:
        """Return the store's path: --db, else REFSTD_DB, else the user's data folder."""
        named = self.db or os.environ.get("REFSTD_DB", "")
        if "://" in named:
            raise WrongUsage(f"'{safe(named)}' is not a file", "--db", "Name the file of a store.")
        if named:
            return Path(named).expanduser()
        from refstd.desk.store import default_path

        return default_path()

    @contextmanager
    def store(self) -> Iterator["Lab"]:
        """Open the store for the length of a command."""
        from refstd.desk.store import open_store

        lab = open_store(self.path())
        try:
            yield lab
        finally:
            lab.close()

    def who(self) -> str:
        """Return the code of the acting person: --as, else REFSTD_AS."""
        by = self.by or os.environ.get("REFSTD_AS", "")
        if not by.strip():
            raise WrongUsage("nobody is named as acting", "", "Say who acts with --as CODE; see `refstd list people`.")
        return by.strip().upper()

    def now(self, lab: "Lab") -> datetime:
        """Return the lab's now."""
        from refstd.desk.clock import now_in

        return now_in(lab)

    def when(self, lab: "Lab") -> "When":
        """Return the moment that a question is asked for."""
        from refstd.desk.store import When

        now = self.now(lab)
        return When(now, as_at=self._instant(lab, now), today=self._day())

    def _instant(self, lab: "Lab", now: datetime) -> datetime | None:
        if not self.as_at:
            return None
        from zoneinfo import ZoneInfo

        from refstd.desk.entry import instant_from_words
        from refstd.desk.store import When, about

        return instant_from_words(self.as_at, ZoneInfo(about(lab, When(now)).time_zone))

    def _day(self) -> date | None:
        return day(self.today, "--today") if self.today else None

    def show(self, sheet: "Sheet") -> None:
        """Show a sheet: as JSON, as text for the terminal's width, or as text for a pipe."""
        from refstd.printing.json import to_json
        from refstd.printing.text import to_text

        click.echo(to_json(sheet) if self.json else to_text(sheet, width()), nl=False)

    def show_json(self, members: Mapping[str, object]) -> None:
        """Show an answer as JSON: text as kept, decimals as strings, nothing that a terminal could take for a command."""
        from refstd.printing.json import json_text

        click.echo(json_text(members), nl=False)

    def line(self, text: object = "", *, strong: bool = False) -> None:
        """Show one line of an answer; on a terminal folded to its width between words, bold where that helps."""
        from refstd.printing.text import folded

        shown = folded(safe(text), width())
        bold = strong and not self.plain and not os.environ.get("NO_COLOR") and sys.stdout.isatty()
        click.echo(click.style(shown, bold=True) if bold else shown)


def width() -> int | None:
    """Return the terminal's width, or None when the answer goes into a pipe or a file."""
    if not sys.stdout.isatty():
        return None
    import shutil

    return shutil.get_terminal_size().columns


def warn(text: object) -> None:
    """Say something beside the answer."""
    click.echo(safe_lines(text), err=True)


def day(text: str, where: str) -> date:
    """Return a day as typed, or refuse."""
    from refstd.desk.entry import day_from_words

    found = day_from_words(text, where)
    if isinstance(found, date):
        return found
    raise WrongUsage(found.wrong, where, found.remedy)
