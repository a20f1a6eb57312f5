"""Text: what may be kept, how it is compared, and the one way stored text is shown."""

import re
import unicodedata

from refstd.base.errors import Problem

_NUMBER = re.compile(r"[A-Z0-9](?:[A-Z0-9-]{0,18}[A-Z0-9])?")
_BIDI_AND_INVISIBLE = {0x00AD, 0x061C, *range(0x200B, 0x2010), *range(0x2028, 0x202F), *range(0x2060, 0x2070), 0xFEFF}
_UNSAFE = {
    **dict.fromkeys(range(32), "�"),
    **dict.fromkeys(range(127, 160), "�"),
    **dict.fromkeys(_BIDI_AND_INVISIBLE, "�"),
    **dict.fromkeys(range(55296, 57344), "�"),
}
LONGEST_TEXT = 10_000


def safe(text: object) -> str:
    """Return text as it may be shown: control, bidirectional and invisible characters become U+FFFD.

    Everything that was stored reaches a terminal, a report or an error message through this function.
    """
    return str(text).translate(_UNSAFE)


def safe_lines(text: object) -> str:
    """Return text of several lines as it may be shown; only line ends survive of the control characters."""
    return "\n".join(safe(line) for line in str(text).split("\n"))


def kept(text: str, where: str, *, longest: int = LONGEST_TEXT, empty: bool = True) -> tuple[str, Problem | None]:
    """Return text in the form in which it is kept (NFC, trimmed) and the problem, if there is one."""
    form = unicodedata.normalize("NFC", text).strip()
    if not form and not empty:
        return form, Problem(where, "is empty", "Give a value.")
    if safe(form) != form:
        return form, Problem(where, "contains a control or invisible character", "Type it anew without pasting.")
    if len(form) > longest:
        return form, Problem(where, f"is {len(form)} characters long, at most {longest} are kept", "Shorten it.")
    return form, None


def key(text: str) -> str:
    """Return the form by which two numbers or names are the same: NFKC, case folded, single blanks."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def number_problem(number: str, where: str) -> Problem | None:
    """Return what is wrong with an asset, job, procedure or person number, or None.

    Numbers are A–Z, 0–9 and '-', at most 20 characters, and neither start nor end with '-'.
    """
    if _NUMBER.fullmatch(number):
        return None
    return Problem(
        where, f"'{safe(number)[:40]}' is not a number of ours", "Use A–Z, 0–9 and '-', at most 20 characters."
    )
