"""Invented pictures for the drawings' tests."""

from refstd.tui.widgets.bars import Bar, BarsPicture, Group
from refstd.tui.widgets.control import ControlLine, ControlPicture, ControlPoint
from refstd.tui.widgets.plane import Circle, PlanePicture, PlaneSeries, Point, Sector

PLANE = PlanePicture(
    (
        PlaneSeries("baseline", "baseline", (Point("N1", 4.0, 18.0), Point("N2", 9.0, 41.0), Point("N3", 22.0, 79.0))),
        PlaneSeries("start check", "start", (Point("N1", 4.4, 17.5), Point("N2", 9.5, 40.0), Point("N3", 25.0, 78.0))),
        PlaneSeries(
            "new reading",
            "new",
            (Point("N1", 4.1, 16.9), Point("N2", 10.0, 39.0), Point("N3", 38.0, 66.0, failing=True)),
            spokes=True,
        ),
    ),
    "% FSH",
    circles=(Circle(4.0, 18.0, 5.0), Circle(9.0, 41.0, 8.0), Circle(22.0, 79.0, 14.0)),
    limit="± 2 dB about the baseline (PR-200 para 5.2)",
)
SECTOR = PlanePicture(
    (PlaneSeries("new reading", "new", (Point("N1", -10.0, 30.0), Point("N2", 60.0, 30.0, failing=True))),),
    "div",
    sectors=(Sector(20.0, 40.0, 60.0, 120.0),),
    limit="window of PR-200 para 5.3",
)
BARS = BarsPicture(
    tuple(
        Group(
            f"N{n} {depth} mm",
            (
                Bar("baseline", "baseline", base, f"{base:.1f} % FSH"),
                Bar("start", "start", base - 1, f"{base - 1:.1f} % FSH"),
                Bar("new", "new", new, "≥ full screen" if off else f"{new:.1f} % FSH", failing, off),
            ),
            base * 0.8,
            base * 1.2,
            f"limit {base * 0.8:.1f} to {base * 1.2:.1f} % FSH (PR-200 para 5.2)",
        )
        for n, depth, base, new, failing, off in (
            (1, "0.20", 20.0, 19.0, False, False),
            (2, "0.50", 40.0, 30.0, True, False),
            (3, "1.00", 80.0, 100.0, True, True),
        )
    ),
    "% FSH",
)
CONTROL = ControlPicture(
    tuple(
        ControlPoint(float(k), 0.1 * ((k * 7) % 11 - 5) + 0.03 * max(0, k - 40), out=k in (55, 58, 59))
        for k in range(60)
    ),
    (
        ControlLine("upper limit +0.90 dB", 0.9),
        ControlLine("lower limit −0.90 dB", -0.9),
        ControlLine("centre 0.00 dB", 0.0, "centre"),
        ControlLine("look +0.60 dB", 0.6, "warning"),
    ),
    "deviation from baseline, dB",
    breaks=((24.0, "new baseline"),),
    ticks=tuple((float(k), f"2026-{k // 6 + 1:02}-{k % 6 * 4 + 1:02}") for k in range(0, 60, 6)),
)
