"""Labels as a PDF to be printed at 100 %: a QR code (ISO/IEC 18004) that holds the asset number, and plain words beside it.

The sizes are those of label sheets in the shops: common practice, no source; hold the first sheet against a ruler.
"""

import io
import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from refstd.base.errors import Refusal, WrongUsage
from refstd.base.text import safe
from refstd.desk.labels import Label
from refstd.printing.typeset import NoRoom, compiled, lacking_of, shower, signs_of, template

QUIET_MODULES = 4  # ISO/IEC 18004: the blank around a QR code, at each side
DOT_MM = 0.125  # of a label printer with 8 dots a millimetre; a module takes whole dots
LEAST_MODULE_MM = 0.375  # three dots, so that a telephone reads it from a hand's breadth
INSET_MM = 1.5
LEAST_MM, MOST_MM = (40.0, 20.0), (190.0, 130.0)


@dataclass(frozen=True, slots=True)
class Size:
    """Where labels sit on a page. All in mm: page, label, gap between labels, margin left and above."""

    page: tuple[float, float]
    label: tuple[float, float]
    columns: int = 1
    rows: int = 1
    gap: tuple[float, float] = (0.0, 0.0)
    margin: tuple[float, float] = (0.0, 0.0)


SIZES = {
    "70x37": Size((210.0, 297.0), (70.0, 37.0), 3, 8, margin=(0.0, 0.5)),
    "63.5x38.1": Size((210.0, 297.0), (63.5, 38.1), 3, 7, (2.5, 0.0), (7.2, 15.1)),
    "66.7x25.4": Size((215.9, 279.4), (66.7, 25.4), 3, 10, (3.2, 0.0), (4.8, 12.7)),
    "50x25": Size((50.0, 25.0), (50.0, 25.0)),
}
USUAL = "70x37"


def size_of(words: str) -> Size:
    """Return the size that is named, as WIDTHxHEIGHT in mm; one that is not on a sheet is printed one a page."""
    form = words.strip().lower().replace("×", "x").replace(" ", "").removesuffix("mm")
    if form in SIZES:
        return SIZES[form]
    known = ", ".join(SIZES)
    parts = re.fullmatch(r"([0-9]{1,3}(?:\.[0-9])?)x([0-9]{1,3}(?:\.[0-9])?)", form)
    if not parts:
        raise WrongUsage(
            f"'{safe(words)[:20]}' is no size of a label", "--size", f"Give width x height in mm, such as {known}."
        )
    wide, high = float(parts[1]), float(parts[2])
    if not (LEAST_MM[0] <= wide <= MOST_MM[0] and LEAST_MM[1] <= high <= MOST_MM[1]):
        raise WrongUsage(
            f"a label of {wide:g} x {high:g} mm cannot be printed",
            "--size",
            f"Give {LEAST_MM[0]:g} x {LEAST_MM[1]:g} to {MOST_MM[0]:g} x {MOST_MM[1]:g} mm.",
        )
    return Size((wide, high), (wide, high))


def to_labels(labels: Sequence[Label], size: Size = SIZES[USUAL], first: int = 1) -> bytes:
    """Return the labels as the bytes of a PDF. first: the position of the first one on a part-used sheet, from 1.

    Raises Refusal where a label's words do not fit at a size that can be read, or its number is too long for its code.
    """
    places = size.columns * size.rows
    if not 1 <= first <= places:
        raise WrongUsage(f"the sheet has no place {first}", "--first", f"Give a place from 1 to {places}.")
    words = "".join(text for x in labels for text in (x.asset_no, x.name, x.heading, x.state, *x.lines))
    show = shower(lacking_of(tuple(sorted({s for s in signs_of(safe(words)) if not s.isascii()}))))
    page = {
        "page": size.page, "label": size.label, "columns": size.columns, "rows": size.rows, "gap": size.gap, "margin": size.margin,
        "first": first, "inset": INSET_MM, "labels": [_drawn(x, size, show) for x in labels],
    }  # fmt: skip
    day = labels[0].printed_on
    stamp = datetime(day.year, day.month, day.day, tzinfo=UTC).isoformat().replace("+00:00", "Z")
    page["date"] = [day.year, day.month, day.day]
    try:
        return compiled(template("labels"), {"page": json.dumps(page, allow_nan=False)}, stamp)
    except NoRoom as error:
        raise Refusal(
            f"the label of {error.what} says more than {size.label[0]:g} x {size.label[1]:g} mm hold",
            error.what,
            "Take a larger label with --size.",
        ) from error


def _drawn(label: Label, size: Size, show: Callable[[str], str]) -> dict[str, object]:
    code, side_mm = _code(label.asset_no, size)
    return {
        "asset_no": show(label.asset_no),
        "name": show(label.name),
        "heading": show(label.heading),
        "lines": [show(line) for line in label.lines],
        "stopped": label.not_for_use,
        "printed": show(f"{label.state}; printed {label.printed_on}, see the register"),
        "code": code,
        "side": side_mm,
    }


def _code(asset_no: str, size: Size) -> tuple[str, float]:
    """Return the code as SVG and its side in mm, the quiet zone counted: whole dots a module, as large as half the label."""
    import segno

    # What is not ASCII bears its encoding with it: readers guess otherwise, and took 'ÄÖ' for 'ﾄﾖ'.
    plain = asset_no.isascii()
    code = segno.make(asset_no, error="m", micro=False, encoding=None if plain else "utf-8", eci=not plain)
    modules = code.symbol_size(scale=1, border=QUIET_MODULES)[0]
    room = min(size.label[1] - 2 * INSET_MM, size.label[0] * 0.4)
    module = int(room / modules / DOT_MM) * DOT_MM
    if module < LEAST_MODULE_MM:
        raise Refusal(
            f"the number is too long for a code on {size.label[0]:g} x {size.label[1]:g} mm",
            safe(asset_no),
            "Take a larger label with --size.",
        )
    out = io.BytesIO()
    code.save(out, kind="svg", border=QUIET_MODULES, scale=1, xmldecl=False, light="#fff")
    return out.getvalue().decode(), modules * module
