"""The program held against published values on the machine where it runs, as a sheet to sign.

A lab validates its software before use and after each change of version or machine: ISO/IEC 17025:2017, 7.11.2.
"""

import math
import platform
import sqlite3
from datetime import datetime

from refstd import __version__
from refstd.base.text import safe
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import instant
from refstd.reports.published import CHECK_VALUES, CheckValue
from refstd.rules.version import RULES_VERSION

COLUMNS = (
    Column("subject", "Subject", width=11),
    Column("asked", "Computed", width=26),
    Column("published", "Published", Kind.NUMBER, width=13),
    Column("found", "Found here", Kind.NUMBER, width=13),
    Column("unit", "Unit", width=6),
    Column("within", "May differ by", Kind.NUMBER, width=8),
    Column("agrees", "Agrees", width=6),
    Column("source", "Source", width=26),
    Column("known", "How the figure is known", width=14),
)
NOTES = (
    "This compares the computations of the installed program with figures from outside it. It says nothing of the lab's own limits, "
    "intervals and records, nor of whether they suit the work.",
    "Run it after an installation, an update of the program or a change of machine; keep the signed sheet (ISO/IEC 17025:2017, 7.11.2).",
    "Run by (name, date, signature): ......................................................................",
    "Reviewed by (name, date, signature): .................................................................",
)  # fmt: skip


def selftest_sheet(now: datetime, zone: str = "UTC") -> Sheet:
    """Return every check value with what this installation computes, as at `now`. No store is read.

    `extra["agrees"]` says whether all agree. A computation that fails is a row that does not agree; it stops nothing.
    """
    rows = [_row(value) for value in CHECK_VALUES]
    failing = sum(row[6] != "yes" for row in rows)
    scope = [
        ("result", f"all {len(rows)} agree" if not failing else f"{failing} OF {len(rows)} DO NOT AGREE: do not rely on this installation"),
        ("program", f"refstd {__version__}, rules version {RULES_VERSION}"),
        ("machine", f"{platform.system()} {platform.machine()}, Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}"),
        ("libraries", _libraries()),
    ]  # fmt: skip
    stand = instant(now.replace(microsecond=0))
    return Sheet(
        "refstd.selftest/1", "Self-test against published values", "no store was read", stand, stand[:10], 0, "", RULES_VERSION,
        COLUMNS, tuple(rows), tuple(scope), NOTES, extra={"agrees": not failing, "failing": failing}, zone=zone,
    )  # fmt: skip


def _libraries() -> str:
    from importlib.metadata import version

    return ", ".join(f"{name} {version(name)}" for name in ("numpy", "scipy", "sqlalchemy", "python-dateutil", "typst"))


def _row(value: CheckValue) -> tuple[str, ...]:
    try:
        found = value.ours()
    except Exception as fault:  # whatever is broken on this machine is what the sheet is to show
        shown, agrees = f"failed: {type(fault).__name__}: {safe(fault)[:100]}", False
    else:
        shown, agrees = _shown(found, value.within), _agrees(found, value)
    within = "" if value.within is None else f"{value.within:g}"
    return (
        value.subject, value.asked, value.printed, shown, value.unit, within, "yes" if agrees else "NO", value.source, value.known,
    )  # fmt: skip


def _agrees(found: float | str, value: CheckValue) -> bool:
    if value.within is None:
        return found == value.printed
    return abs(float(found) - float(value.printed)) <= value.within * (1 + 1e-9)


def _shown(found: float | str, within: float | None) -> str:
    """Return what was found, with two digits beyond those that are compared."""
    if within is None or not within:
        return f"{found:g}" if isinstance(found, float) else str(found)
    return f"{float(found):.{min(9, max(0, 2 - math.floor(math.log10(within))))}f}"
