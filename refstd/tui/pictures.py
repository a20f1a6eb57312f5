"""From a check's picture to the drawing that fits it: the plane where both components were read, else bars."""

from refstd.base.quantity import Unit, derived, with_unit
from refstd.desk.checks import Picture
from refstd.tui.widgets.bars import Bar, BarsDrawing, BarsPicture, Group
from refstd.tui.widgets.drawing import Drawing
from refstd.tui.widgets.plane import PlaneDrawing, PlanePicture, PlaneSeries, Point

_ROLES = {"baseline": "baseline", "start check": "start", "now": "new"}


def plane_of(picture: Picture, now: str = "now") -> PlanePicture:
    """Return the impedance plane of a check; `now` names its own readings."""
    series = tuple(
        PlaneSeries(
            now if s.name == "now" else s.name,
            _ROLES[s.name],
            tuple(
                Point(notch, x, y, failing=s.name == "now" and notch in picture.failing)
                for notch, x, y in s.points
                if x is not None
            ),
            spokes=s.name == "now",
        )
        for s in picture.series
    )
    return PlanePicture(series, picture.unit)


def bars_of(picture: Picture, now: str = "now") -> BarsPicture:
    """Return bars of a check whose readings are one figure a notch."""
    labels = dict.fromkeys(notch for s in picture.series for notch, _, _ in s.points)
    groups = []
    for label in labels:
        bars = tuple(
            Bar(
                now if s.name == "now" else s.name, _ROLES[s.name], abs(y), _figure(y, picture.unit),
                failing=s.name == "now" and label in picture.failing,
                off_screen=s.name == "now" and abs(y) >= picture.full_screen,
            )
            for s in picture.series
            for notch, _, y in s.points
            if notch == label
        )  # fmt: skip
        groups.append(Group(f"notch {label}", bars))
    return BarsPicture(tuple(groups), picture.unit)


def drawing_of(picture: Picture, now: str = "now") -> Drawing:
    """Return the widget that draws a check's picture."""
    if not picture.directed:
        bars = BarsDrawing()
        bars.picture = bars_of(picture, now)
        return bars
    plane = PlaneDrawing()
    plane.picture = plane_of(picture, now)
    return plane


def _figure(value: float, unit: str) -> str:
    try:
        return derived(value, Unit(unit))
    except ValueError:
        return with_unit(f"{value:g}", unit)
