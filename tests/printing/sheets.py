"""Sheets for the printers' tests: a hard one, and a long list with a chart. All names are invented."""

from decimal import Decimal

from refstd.printing.sheet import Chart, Column, Kind, Series, Sheet

COLUMNS = (
    Column("asset_no", "Asset", width=10),
    Column("remark", "Remark", width=30),
    Column("deviation_db", "Deviation", Kind.NUMBER, "dB", 10),
    Column("due_on", "Due on", Kind.DATE, width=10),
    Column("read_at", "Read at", Kind.INSTANT, width=16),
)
SIGNS = "≥ ± × − ° µ Ω Ø → – — ≤ ✓ ⌀ … ○ □ △ ✕ ! · • √ ² ³ ½ Δ φ σ ≈ ≠ %"
LONG_WORD = "W" * 90
LONG = "The notch was filled with wax; wiped, nulled and read again. " * 8
REMARKS = (
    "plain",
    "[red]x[/] *b* #panic() _u_ `c` $x$ @ref <label> \\ // https://example.org /* */ ~ -- ---",
    SIGNS,
    LONG.strip(),
    LONG_WORD,
    "first line\nsecond line",
    "=1+1",
    "+SUM(A1)",
    "-2+3",
    "@cmd",
    "＝1",
    "\t=1",
    "'=kept as written",
    "bell\x07 escape\x1b[31m red \x9b31m nul\x00 bidi\u202e zero\u200bwidth",
    'quote " comma , semicolon ;',
    "äöü ß ñ ø Å Ł Ж e\u0301 x\u0302",
    "日本 and 😀",
    "",
)


def hard_sheet() -> Sheet:
    figures = ["-0.42", "0.500", "", "−1.25", "≥ full screen", "=1+1"]
    rows = tuple(
        (f"AB-{i:04}", remark, figures[i % len(figures)], "2026-11-25" if i % 2 else "", "2026-11-25T08:00:00Z")
        for i, remark in enumerate(REMARKS)
    )
    return Sheet(
        "refstd.hard/1",
        "Hard list [b]#x[/b]",
        "Lab of the Ω Notch",
        "2026-11-25T09:30:00Z",
        "2026-11-25",
        812,
        "3f9a2c7b41de0011223344556677889900aabbccddeeff001122334455667788",
        "3",
        COLUMNS,
        rows,
        scope=(("within", "90 days"), ("site", "*all*")),
        notes=("Limits as the procedure states them (para 5.2).", "refstd advises; people decide."),
        extra={"spread_db": Decimal("0.500"), "counts": {"overdue": 3}},
    )


def due_sheet(rows: int = 60) -> Sheet:
    columns = (
        Column("asset_no", "Asset", width=10),
        Column("kind", "Kind", width=12),
        Column("description", "Description", width=30),
        Column("activity", "Owes", width=12),
        Column("last_on", "Last done", Kind.DATE, width=10),
        Column("due_on", "Due on", Kind.DATE, width=10),
        Column("days_left", "Left", Kind.NUMBER, "days", 7),
        Column("state", "State", width=9),
        Column("source", "Interval from", width=20),
    )
    states = ("overdue", "due soon", "not due", "never done")
    body = tuple(
        (
            f"RB-{n:04}",
            ("reference block", "probe", "instrument", "conductivity standard")[n % 4],
            f"Aluminium block, EDM notches 0.2/0.5/1.0 mm, position {n}"
            + (", lent to the outstation; return asked for twice" if n % 7 == 0 else ""),
            ("calibration", "verification", "comparison with the primary")[n % 3],
            f"2025-{n % 12 + 1:02}-15",
            f"2026-{n % 12 + 1:02}-28",
            str(n * 7 - 40),
            states[n % 4],
            "PR-200 rev C, para 4.3" if n % 2 else "lab rule LR-7",
        )
        for n in range(1, rows + 1)
    )
    y = tuple(0.1 * ((k * 7) % 11 - 5) + (0.03 * max(0, k - 25)) for k in range(40))
    chart = Chart(
        "Setup S-012, notch N2 (0.50 mm): deviation from baseline",
        "Deviation, dB",
        (Series("check readings", tuple(map(float, range(40))), y, tuple(v > 0.8 for v in y)),),
        (("upper limit +0.80 dB", 0.8), ("lower limit −0.80 dB", -0.8), ("centre 0.00 dB", 0.0), ("warning", 0.75)),
        tuple((float(k), f"2026-{k // 4 + 1:02}-{k % 4 * 7 + 1:02}") for k in range(40)),
        alt="Deviation of notch N2 over 40 checks; the last are above the upper limit.",
    )
    notes = (
        "Due dates: last date of calibration plus the interval; the interval's source is in the last column.",
        "A date in the past does not by itself condemn parts already examined: see the look-back report.",
    )
    return Sheet(
        "refstd.due/1",
        "Due list",
        "Calibration room Nord (invented)",
        "2026-11-25T09:30:00Z",
        "2026-11-25",
        812,
        "3f9a2c7b41de0011223344556677889900aabbccddeeff001122334455667788",
        "3",
        columns,
        body,
        scope=(("within", "400 days"), ("kinds", "all")),
        notes=notes,
        charts=(chart,),
    )
