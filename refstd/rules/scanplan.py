"""A scan plan for a job: from the probe's effective width, the procedure's overlap, index and speed, and the area to examine."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.rules.coverage import (
    Tracks,
    bore_by_helix,
    bore_by_rings,
    covered,
    least_overlap_percent,
    minutes,
    surface,
    weld,
    widest_index_mm,
)
from refstd.rules.joining import ROTATING
from refstd.rules.requirements import Scan

TWO_DIRECTIONS = "100 % of the surface in two directions: common practice, no source"
_SETTING_MM = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Area:
    """What a job has to examine, as far as it is on record. Lengths in mm."""

    form: str
    length_mm: Decimal | None = None
    width_mm: Decimal | None = None
    bore_diameter_mm: Decimal | None = None
    bores: int | None = None
    bore_depth_mm: Decimal | None = None
    weld_length_mm: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a plan: what about, the figure with its unit, where it comes from."""

    about: str
    says: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class ScanPlan:
    """The plan, and what is missing for it with what would cure that. Nothing is assumed in place of what is missing."""

    asked: Scan | None
    width_mm: Decimal | None
    width_source: str
    index_mm: Decimal | None
    tracks: tuple[Tracks, ...]
    times: int  # how often the tracks are run: once an area, or once a bore
    missing: tuple[Line, ...]

    @property
    def path_mm(self) -> Decimal:
        """Return the length of the whole path, in mm."""
        return sum((t.path_mm for t in self.tracks), Decimal(0)) * self.times

    def lines(self) -> tuple[Line, ...]:
        """Return what is known of the plan, each figure with its source."""
        return tuple(_lines(self, self.asked))


def scan_plan(area: Area, probe_form: str, width_mm: Decimal | None, width_source: str, asked: Scan | None) -> ScanPlan:
    """Return the plan of a job with a probe of an effective width."""
    overlap = asked.least_overlap_percent if asked else None
    largest = asked.largest_index_mm if asked else None
    paragraph = asked.paragraph if asked else ""
    missing = []
    index = None
    if width_mm is None:
        missing.append(Line("effective width", "of the probe is not on record", "measure it: at a receipt inspection, or correct the probe"))  # fmt: skip
    else:
        try:
            index = widest_index_mm(width_mm, overlap, largest)
        except ValueError as error:
            missing.append(Line("index", str(error), paragraph))
    if overlap is None:
        missing.append(Line("overlap", "the procedure states none; the index is the effective width", "ask the procedure's owner"))  # fmt: skip
    if asked is None or asked.largest_speed_mm_s is None:
        missing.append(Line("speed", "the procedure states none; no time is reckoned", "ask the procedure's owner"))
    tracks: tuple[Tracks, ...] = ()
    if width_mm is not None and index is not None:
        both = asked is None or asked.directions != 1
        tracks = _tracks(area, probe_form, width_mm, index, both)
        if not tracks:
            missing.append(Line(*_LACKS[_what(area)], "describe the job's parts"))
    times = area.bores or 1 if _what(area) == "bore" else 1
    return ScanPlan(asked, width_mm, width_source, index, tracks, times, tuple(missing))


_LACKS = {
    "bore": ("bores", "depth or diameter is not on record"),
    "weld": ("weld", "its length is not on record"),
    "surface": ("area", "length and width are not on record"),
}


def _what(area: Area) -> str:
    if area.form in ("bore", "countersink"):
        return "bore"
    return "weld" if area.form == "weld" else "surface"


def _tracks(
    area: Area, probe_form: str, width_mm: Decimal, index_mm: Decimal, both_directions: bool
) -> tuple[Tracks, ...]:
    what = _what(area)
    if what == "bore":
        if area.bore_depth_mm is None or area.bore_diameter_mm is None:
            return ()
        turns = bore_by_helix if probe_form == ROTATING else bore_by_rings
        return (turns(area.bore_diameter_mm, area.bore_depth_mm, width_mm, index_mm),)
    if what == "weld":
        return weld(area.weld_length_mm, area.width_mm, width_mm, index_mm) if area.weld_length_mm is not None else ()
    if area.length_mm is None or area.width_mm is None:
        return ()
    found = surface(area.length_mm, area.width_mm, width_mm, index_mm)
    return found if both_directions else found[:1]


def _lines(plan: ScanPlan, asked: Scan | None) -> Iterator[Line]:
    said = f"the procedure, {asked.paragraph}" if asked else ""
    if plan.width_mm is not None:
        yield Line("effective width", f"{plain(plan.width_mm)} mm", plan.width_source)
    if asked and asked.least_overlap_percent is not None:
        yield Line("overlap", f"{plain(asked.least_overlap_percent)} % of the effective width at least", said)
    if plan.index_mm is not None:
        yield Line("index", f"{plain(plan.index_mm)} mm at most", _source_of_index(asked))
    for t in plan.tracks:
        yield Line(t.says, _track_words(t), _covered_words(t, plan.width_mm or Decimal(1)))
    if len(plan.tracks) == 2 and asked is None:
        yield Line("directions", "two, at right angles", TWO_DIRECTIONS)
    if plan.tracks:
        run = f", {plan.times} times {plain(_tenth(plan.path_mm / plan.times / 1000))} m" if plan.times > 1 else ""
        yield Line("path", f"{plain(_tenth(plan.path_mm / 1000))} m in all{run}", "calculated")
    if asked and asked.largest_speed_mm_s is not None:
        yield Line("speed", f"{plain(asked.largest_speed_mm_s)} mm/s at most", said)
        if plan.tracks:
            took = _tenth(minutes(plan.path_mm, asked.largest_speed_mm_s))
            yield Line(
                "time", f"{plain(took)} min at least at that speed, without handling and looking again", "calculated"
            )


def _source_of_index(asked: Scan | None) -> str:
    if asked is None or (asked.least_overlap_percent is None and asked.largest_index_mm is None):
        return "calculated: the effective width; no overlap is stated"
    own = f", and at most {plain(asked.largest_index_mm)} mm" if asked.largest_index_mm is not None else ""
    return f"calculated: effective width x (1 - overlap){own}, the procedure, {asked.paragraph}"


def _track_words(t: Tracks) -> str:
    one = f"{t.passes} {'turns' if t.helix else 'passes' if t.passes > 1 else 'pass'} of {plain(_tenth(t.each_mm))} mm"
    if t.passes == 1 or not t.index_mm:
        return one
    begins = plain(t.first_mm.quantize(_SETTING_MM))
    if t.helix:
        return f"{one}, {plain(t.index_mm)} mm a turn, begun {plain(-t.first_mm.quantize(_SETTING_MM))} mm before the mouth"
    return f"{one}, the first {begins} mm from the edge, then every {plain(t.index_mm)} mm"


def _covered_words(t: Tracks, width_mm: Decimal) -> str:
    if t.helix:
        return "calculated: no point of the wall is left out"
    if t.passes > 1 and not t.index_mm:
        return "the procedure says how the probe is held"
    share = 100 * covered(t, width_mm)
    over = f", overlap {plain(_tenth(least_overlap_percent(t, width_mm)))} %" if t.passes > 1 else ""
    return f"calculated: {plain(_tenth(Decimal(share.numerator) / share.denominator))} % covered{over}"


def _tenth(value: Decimal) -> Decimal:
    return value.quantize(Decimal("0.1"))
