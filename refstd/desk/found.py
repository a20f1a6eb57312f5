"""How items were found by their certificates: each paper of an activity, and each value in time, as the rules on intervals want them."""

from bisect import bisect_left
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select

from refstd.base.text import key
from refstd.desk.certified import kept_outcomes, point_as_filed
from refstd.desk.happened import events_of
from refstd.desk.items import among
from refstd.desk.papers import certificates_in_force, in_order
from refstd.register.certificates import Certificate, CertifiedValue
from refstd.register.equipment import Notch
from refstd.register.lab import Look
from refstd.rules.asfound import AsFound, FoundValue, Series, as_found
from refstd.rules.certified import CertifiedPoint, points_in_force, quantity_key
from refstd.rules.lookback import PaperSaid

Place = tuple[str, str]
Pairs = list[tuple[str, CertifiedPoint]]


@dataclass(frozen=True, slots=True)
class Found:
    """The papers of one activity since the item was last repaired or changed, oldest first, and its values in time."""

    papers: tuple[AsFound, ...]
    series: tuple[Series, ...]
    newest_entry: int  # the log entry of the newest paper, 0 for none


class Papers:
    """The certificates in force of these items, or of all, with their values and how those were judged when filed."""

    def __init__(self, look: Look, ids: Collection[int] | None = None, in_place: Certificate | None = None) -> None:
        """in_place: a paper that counts as it is, whatever has corrected or withdrawn it since."""
        self.papers = certificates_in_force(look, ids)
        if in_place is not None:
            self._put_in_place(look, in_place)
        asked = None if ids is None else [p.id for papers in self.papers.values() for p in papers]
        labels = dict(look.session.execute(select(Notch.id, Notch.label).where(*among(Notch.equipment_id, ids))).all())
        mine = (CertifiedValue.entry <= look.upto, *among(CertifiedValue.certificate_id, asked))
        values = list(look.session.execute(select(CertifiedValue).where(*mine).order_by(CertifiedValue.id)).scalars())
        judged = kept_outcomes(look, None if ids is None else [v.id for v in values])
        numbers = {p.id: p for papers in self.papers.values() for p in papers}
        self._pairs: dict[int, Pairs] = {}
        for v in values:
            paper = numbers.get(v.certificate_id)
            if paper is None:
                continue
            point = point_as_filed(paper, v, labels[v.notch_id] if v.notch_id else "", judged.get(v.id))
            self._pairs.setdefault(paper.id, []).append((v.stage, point))
        self._changed: dict[int, date] = {}
        for e in events_of(look, ids):
            if e.breaks:
                self._changed[e.equipment_id] = e.happened_at.astimezone(look.zone).date()

    def _put_in_place(self, look: Look, paper: Certificate) -> None:
        mine = self.papers.setdefault(paper.equipment_id, [])
        for other in list(mine):
            before = other
            while before.id != paper.id and before.supersedes_id is not None:
                before = look.session.get_one(Certificate, before.supersedes_id)
            if before.id == paper.id:
                mine.remove(other)
        mine.append(paper)
        mine[:] = in_order(look, mine)

    def of(self, equipment_id: int, activity: str, uses: Sequence[date] | None = None) -> Found:
        """Return how an item was found. uses: the days of its uses in order, None where they are not counted.

        What is from before a repair, an exchanged part or new firmware is left out: it was another thing.
        """
        every = self.papers.get(equipment_id, [])
        since = self._changed.get(equipment_id, date.min)
        told: list[AsFound] = []
        courses: dict[Place, list[tuple[date, CertifiedPoint]]] = {}
        before: Certificate | None = None
        adjusted_on: date | None = None
        for n, paper in enumerate(every):
            if paper.activity != activity or paper.performed_on < since:
                continue
            in_force = {_place(p): p for p in points_in_force([self._pairs.get(p.id, []) for p in every[: n + 1]])}
            values = self._as_found(paper, in_force)
            lasted = (paper.performed_on - before.performed_on).days or None if before else None
            made = None
            if before is not None and uses is not None:
                made = bisect_left(uses, paper.performed_on) - bisect_left(uses, before.performed_on)
            told.append(
                as_found(
                    f"certificate {paper.number}",
                    paper.performed_on,
                    values,
                    paper.result,
                    _why_none(paper),
                    lasted,
                    made,
                )
            )
            for v in values:
                courses.setdefault(_place(v.point), []).append((paper.performed_on, v.point))
            if paper.adjusted:
                left = [_place(p) for stage, p in self._pairs.get(paper.id, []) if stage == "as left"]
                courses = {place: [(paper.performed_on, in_force[place])] for place in left}
                adjusted_on = paper.performed_on
            before = paper
        series = tuple(_series(course, adjusted_on) for course in courses.values() if _limited(course[-1][1]))
        return Found(tuple(told), series, before.entry if before else 0)

    def said(self, equipment_id: int) -> tuple[PaperSaid, ...]:
        """Return what each paper of an item says it found and left, oldest first; of an inspection, nothing.

        What is from before a repair counts here: what was done then was done with the item as the paper has it.
        """
        every = self.papers.get(equipment_id, [])
        told = []
        for n, paper in enumerate(every):
            in_force = {_place(p): p for p in points_in_force([self._pairs.get(p.id, []) for p in every[: n + 1]])}
            found = tuple(v for v in self._as_found(paper, in_force) if v.limited)
            left = tuple(v for v in self._as_left(paper, in_force) if v.limited)
            whole = None if paper.activity == "inspection" or not paper.result else paper.result == "sound"
            told.append(PaperSaid(paper.id, f"certificate {paper.number}", paper.performed_on, found, left, whole))
        return tuple(told)

    def _as_left(self, paper: Certificate, in_force: Mapping[Place, CertifiedPoint]) -> list[FoundValue]:
        """Return a paper's values as left; of one that was not adjusted, those as found are those as left."""
        pairs = self._pairs.get(paper.id, [])
        places = dict.fromkeys(_place(p) for stage, p in pairs if stage == "as left" or not paper.adjusted)
        return [_judged(in_force[place]) for place in places]

    def _as_found(self, paper: Certificate, in_force: Mapping[Place, CertifiedPoint]) -> list[FoundValue]:
        """Return a paper's values as found; of one that was not adjusted, the values as left are those as found."""
        stages: dict[Place, set[str]] = {}
        for stage, point in self._pairs.get(paper.id, []):
            stages.setdefault(_place(point), set()).add(stage)
        values = []
        for place, said in stages.items():
            if "as found" not in said and paper.adjusted:
                continue
            point = in_force[place]
            values.append(_judged(point.as_found or point))
        return values


def _place(point: CertifiedPoint) -> Place:
    return key(point.notch), quantity_key(point.quantity)


def _judged(point: CertifiedPoint) -> FoundValue:
    """Return a value with the outcome kept with it when it was filed, where it was judged."""
    return FoundValue(point, "" if point.kept == "not judged" else point.kept)


def _why_none(paper: Certificate) -> str:
    return "it was adjusted, and no value as found has limits" if paper.adjusted else ""


def _limited(point: CertifiedPoint) -> bool:
    return point.lower is not None or point.upper is not None


def _series(course: Sequence[tuple[date, CertifiedPoint]], adjusted_on: date | None) -> Series:
    """Return a value in time, in the unit and against the limits of its newest; what is in another unit is left out."""
    newest = course[-1][1]
    same = [(day, p) for day, p in course if p.unit == newest.unit]
    u, k = newest.expanded_uncertainty, newest.coverage_factor
    return Series(
        FoundValue(newest).what, tuple(float(day.toordinal()) for day, _ in same), tuple(float(p.value) for _, p in same),
        newest.unit, _number(newest.lower), _number(newest.upper), newest.limit_source,
        None if u is None or k is None else float(u / k), adjusted_on,
    )  # fmt: skip


def _number(value: object) -> float | None:
    return None if value is None else float(str(value))
