"""typst: text and templates in, a PDF/A out, with the fonts inside typst only, so that every machine prints the same bytes.

Text reaches a template as JSON data alone, so nothing in a remark can become markup.
"""

import json
import re
import unicodedata
from collections.abc import Callable
from datetime import datetime
from functools import lru_cache
from importlib.resources import files
from typing import Final

from refstd.base.errors import Refusal
from refstd.base.text import safe, safe_lines

STANDARD: Final = "a-3a"
_NO_ROOM = re.compile(r"no room: (.+)")  # how a template says it: panic("no room: " + what)


class NoRoom(Exception):
    """A template said that something does not fit where it should stand."""

    def __init__(self, what: str) -> None:
        super().__init__(what)
        self.what = what


def shower(lacking: frozenset[str]) -> Callable[[str], str]:
    """Return a function that makes a text printable, signs in `lacking` as their numbers."""

    def show(text: str) -> str:
        form = safe_lines(text.replace("\r\n", "\n"))
        if lacking.isdisjoint(signs_of(form)):
            return form
        return "".join(_numbered(sign) if sign in lacking else sign for sign in signs_of(form))

    return show


def signs_of(text: str) -> list[str]:
    """Return the text in pieces that are drawn as one: a character with the marks that combine with it."""
    pieces: list[str] = []
    for character in text:
        if pieces and not character.isascii() and unicodedata.category(character).startswith("M"):
            pieces[-1] += character
        else:
            pieces.append(character)
    return pieces


def _numbered(sign: str) -> str:
    return "".join(f"<U+{ord(character):04X}>" for character in sign)


def lacking_of(signs: tuple[str, ...]) -> frozenset[str]:
    """Return the signs that the fonts cannot show. typst is asked, by halving; one question where all can."""
    if not signs or _can_show(signs):
        return frozenset()
    if len(signs) == 1:
        return frozenset(signs)
    half = len(signs) // 2
    return lacking_of(signs[:half]) | lacking_of(signs[half:])


@lru_cache(maxsize=1024)
def _can_show(signs: tuple[str, ...]) -> bool:
    import typst

    try:
        _typeset(template("signs"), {"signs": json.dumps(signs)}, "2000-01-01T00:00:00Z")
    except typst.TypstError:  # PDF/A forbids a character without a glyph, and typst keeps to it
        return False
    return True


def compiled(source: bytes, inputs: dict[str, str], as_at: str) -> bytes:
    """Return the PDF of a template with the as-at instant as its date. Raises Refusal for an error and for a warning, NoRoom
    where the template says so."""
    import typst

    try:
        pdf, warnings = _typeset(source, inputs, as_at)
    except typst.TypstError as error:
        if found := _NO_ROOM.search(error.message):
            raise NoRoom(safe(found[1])) from error
        raise _refused(error.message) from error
    if warnings:
        raise _refused(warnings[0])
    return pdf


def let_go() -> None:
    """Make typst forget what it kept of earlier documents: it drops what the last ten did not use.

    Measured for 5,000 rows in three volumes: 1,124 MB at most without it, 526 MB with it.
    """
    import typst

    for _ in range(11):
        typst.compile(b"#set page(width: 1pt, height: 1pt)", format="svg", ignore_system_fonts=True)


def _refused(message: str) -> Refusal:
    return Refusal(f"The PDF was not written: {safe(message)}", "", "Take csv or json, and report this to us.")


def _typeset(source: bytes, inputs: dict[str, str], as_at: str) -> tuple[bytes, list[str]]:
    import typst

    pdf, warnings = typst.compile_with_warnings(
        source,
        format="pdf",
        ignore_system_fonts=True,
        sys_inputs=inputs,
        pdf_standards=STANDARD,
        timestamp=int(datetime.fromisoformat(as_at).timestamp()),
    )
    return pdf, [warning.message for warning in warnings]


@lru_cache
def template(name: str) -> bytes:
    """Return a template of this package, after the line that names the fonts."""
    folder = files("refstd.printing") / "templates"
    return (folder / "fonts.typ").read_bytes() + b"\n" + (folder / f"{name}.typ").read_bytes()
