"""Parts and holes as people name them in one line, and what may be said with them: in words, together, left over, twice.

One line names parts one after the other, `SN-1: holes 1-12, 15; SN-2, zone lower flange; SN-3, zone web: holes A1-A4`.
What it cannot read it refuses; a guess here would say of a hole that it was examined.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from refstd.base.errors import Problem
from refstd.base.text import key, safe

Hole = tuple[str, int]  # letters before the number, '' for none, and the number
MOST_HOLES = 5000  # of one part; beyond it a range is a slip
HOW = "Write parts as 'SN-1: holes 1-12, 15; SN-2, zone web'."
_TAIL = re.compile(r"^(?P<head>.*?)[\s:,]*\bholes?\b\s*:?\s*(?P<list>.*)$", re.IGNORECASE)
_ZONE = re.compile(r"^(?P<serial>.*?)[\s,]*\bzone\s+(?P<zone>.+)$", re.IGNORECASE)
_RANGE = re.compile(r"^([A-Za-z]{0,3})(\d{1,5})(?:\s*(?:-|–|\bto\b)\s*([A-Za-z]{0,3})(\d{1,5}))?$")


@dataclass(frozen=True, slots=True)
class Part:
    """A part, a zone of it ('' is all of it), and holes there; no holes means all of the part or zone."""

    serial: str
    zone: str = ""
    holes: tuple[Hole, ...] = ()

    @property
    def place(self) -> str:
        """Return the part and zone in words."""
        return f"{self.serial}, zone {self.zone}" if self.zone else self.serial

    def in_words(self) -> str:
        """Return the part as it is written."""
        return f"{self.place}: {counted(self.holes)} {holes_in_words(self.holes)}" if self.holes else self.place

    def as_dict(self) -> dict[str, str]:
        """Return the part for scripts: serial, zone, holes as ranges."""
        return {"serial": self.serial, "zone": self.zone, "holes": holes_in_words(self.holes)}


def counted(holes: Sequence[Hole]) -> str:
    """Return 'hole' or 'holes'."""
    return "hole" if len(holes) == 1 else "holes"


def holes_in_words(holes: Iterable[Hole]) -> str:
    """Return holes as ranges in order: '1-12, 15, A1-A4'."""
    runs: list[tuple[str, int, int]] = []
    for letters, number in sorted(set(holes)):
        if runs and runs[-1][0] == letters and runs[-1][2] == number - 1:
            runs[-1] = (letters, runs[-1][1], number)
        else:
            runs.append((letters, number, number))
    return ", ".join(f"{x}{low}" if low == high else f"{x}{low}-{x}{high}" for x, low, high in runs)


def in_words(parts: Iterable[Part]) -> str:
    """Return parts as one line that `parts_from` reads."""
    return "; ".join(p.in_words() for p in parts)


def holes_from(text: str, where: str = "") -> tuple[Hole, ...] | Problem:
    """Return the holes of a list such as '1-12, 15', in order, or the problem."""
    found: list[Hole] = []
    for piece in text.split(","):
        form = " ".join(piece.split())
        match = _RANGE.match(form)
        if not match:
            what = f"'{safe(form)[:40]}' is not a hole" if form else "a hole is missing"
            return Problem(where, what, "Number holes as '1-12, 15'; letters may stand before the number.")
        letters, first, same, last = match[1].upper(), int(match[2]), match[3], int(match[4] or match[2])
        if same and same.upper() != letters:
            return Problem(
                where, f"'{safe(form)[:40]}' goes from one letter to another", "Give a range for each letter."
            )
        if last < first:
            return Problem(where, f"'{safe(form)[:40]}' runs backwards", "Give the lower number first.")
        if last - first >= MOST_HOLES or len(found) + last - first >= MOST_HOLES:
            return Problem(where, f"more than {MOST_HOLES} holes", "Check the numbers.")
        found += [(letters, number) for number in range(first, last + 1)]
    twice = sorted(hole for hole, times in Counter(found).items() if times > 1)
    if twice:
        stand = "stands" if len(twice) == 1 else "stand"
        return Problem(where, f"{counted(twice)} {holes_in_words(twice)} {stand} twice", "Name each once.")
    return tuple(sorted(found))


def parts_from(text: str, where: str = "parts") -> tuple[Part, ...] | Problem:
    """Return the parts that a line names, or the first problem. A part without a name has the serial ''."""
    parts: list[Part] = []
    for entry in (e.strip() for e in re.split(r"[;\n]", text)):
        if not entry:
            continue
        part = _part(entry, where)
        if isinstance(part, Problem):
            return part
        if any((key(p.serial), key(p.zone)) == (key(part.serial), key(part.zone)) for p in parts):
            return Problem(where, f"{safe(part.place)[:60] or 'the part'} stands twice", "Put its holes into one list.")
        parts.append(part)
    return tuple(parts) or Problem(where, "names no part", HOW)


def _part(entry: str, where: str) -> Part | Problem:
    tail = _TAIL.match(entry)
    head, holes = (tail["head"], tail["list"]) if tail else (entry, "")
    listed: tuple[Hole, ...] | Problem = holes_from(holes, where) if tail else ()
    if isinstance(listed, Problem):
        return listed
    zoned = _ZONE.match(head.strip())
    serial, zone = (zoned["serial"], zoned["zone"]) if zoned else (head, "")
    serial, zone = " ".join(serial.split()).strip(" :,"), " ".join(zone.split()).strip(" :,")
    for said in (serial, zone):
        sign = next((s for s in ",:" if s in said), "")
        if sign:
            return Problem(
                where, f"'{safe(said)[:60]}' has a '{sign}' that is neither before 'zone' nor before 'holes'", HOW
            )
    return Part(serial, zone, listed)


def merged(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Return each part and zone once, with the holes of all; where one names no holes, none: all of it is meant."""
    found: dict[tuple[str, str], Part] = {}
    for part in parts:
        at = (key(part.serial), key(part.zone))
        before = found.get(at)
        if before is None:
            found[at] = part
        elif before.holes and part.holes:
            found[at] = Part(before.serial, before.zone, tuple(sorted({*before.holes, *part.holes})))
        else:
            found[at] = Part(before.serial, before.zone)
    return tuple(found.values())


def of_job(job: Sequence[Part], named: Part, where: str = "parts") -> tuple[int, Part] | Problem:
    """Return which part of a job is meant (its place), and what of it; or why that cannot be said.

    Without a name it is the job's only part. A job's zone need not be said again. Where the job lists holes and none is
    named, all of them are meant; a hole that the job does not list is refused.
    """
    said = named.place or "the part"
    near = [i for i, p in enumerate(job) if not named.serial or key(p.serial) == key(named.serial)]
    if not near:
        return Problem(
            where,
            f"'{safe(said)[:60]}' is not a part of the job",
            f"Name one of {in_words(Part(p.serial, p.zone) for p in job)}.",
        )
    if named.zone:
        near = [i for i in near if key(job[i].zone) == key(named.zone)] or [i for i in near if not job[i].zone]
        if not near:
            return Problem(
                where,
                f"'{safe(said)[:60]}' is not a zone of the job",
                f"Name one of {in_words(Part(p.serial, p.zone) for p in job)}.",
            )
    if len(near) > 1:
        these = " or ".join(job[i].place for i in near)
        return Problem(where, "does not say which part is meant", f"Say {these}.")
    place, part = near[0], job[near[0]]
    if part.holes and not named.holes:
        return place, Part(part.serial, named.zone or part.zone, part.holes)
    strange = [h for h in named.holes if part.holes and h not in part.holes]
    if strange:
        which = f"{counted(strange)} {holes_in_words(strange)} of {part.place}"
        return Problem(where, f"{which}: not among those of the job", f"The job has {part.in_words()}.")
    return place, Part(part.serial, named.zone or part.zone, named.holes)


def left(job: Sequence[Part], done: Iterable[tuple[int, Part]]) -> tuple[Part, ...]:
    """Return what of a job's parts no lot examined: holes not named yet, and parts without holes that nothing names."""
    seen: dict[int, set[Hole]] = {}
    for place, part in done:
        seen.setdefault(place, set()).update(part.holes)
    over = []
    for place, part in enumerate(job):
        holes = tuple(h for h in part.holes if h not in seen.get(place, set()))
        if holes or (not part.holes and place not in seen):
            over.append(Part(part.serial, part.zone, holes))
    return tuple(over)
