"""Text: what may be kept, how it is compared, and the one way stored text is shown."""

import re
import unicodedata

from refstd.base.errors import Problem

_NUMBER = re.compile(r"[A-Z0-9](?:[A-Z0-9-]{0,18}[A-Z0-9])?")
# Unicode's format characters (bidirectional, zero-width, tags), line and paragraph separators, and letters nobody sees.
_UNSEEN = (
    (0x00AD, 0x00AD), (0x0600, 0x0605), (0x061C, 0x061C), (0x06DD, 0x06DD), (0x070F, 0x070F), (0x0890, 0x0891),
    (0x08E2, 0x08E2), (0x115F, 0x1160), (0x180E, 0x180E), (0x200B, 0x200F), (0x2028, 0x202E), (0x2060, 0x206F),
    (0x3164, 0x3164), (0xFEFF, 0xFEFF), (0xFFA0, 0xFFA0), (0xFFF9, 0xFFFB), (0x110BD, 0x110BD), (0x110CD, 0x110CD),
    (0x13430, 0x1343F), (0x1BCA0, 0x1BCA3), (0x1D173, 0x1D17A), (0xE0000, 0xE007F),
)  # fmt: skip
_CONTROLS_AND_SURROGATES = ((0x00, 0x1F), (0x7F, 0x9F), (0xD800, 0xDFFF))
_UNSAFE = {code: "\ufffd" for first, last in (*_CONTROLS_AND_SURROGATES, *_UNSEEN) for code in range(first, last + 1)}
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
    folded = unicodedata.normalize("NFKC", text).casefold()
    return " ".join(unicodedata.normalize("NFKC", folded).split())


def number_problem(number: str, where: str) -> Problem | None:
    """Return what is wrong with an asset, job, procedure or person number, or None.

    Numbers are A–Z, 0–9 and '-', at most 20 characters, and neither start nor end with '-'.
    """
    if _NUMBER.fullmatch(number):
        return None
    return Problem(
        where, f"'{safe(number)[:40]}' is not a number of ours", "Use A–Z, 0–9 and '-', at most 20 characters."
    )
