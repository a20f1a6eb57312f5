"""The parts of a job, what is known of them, and which of them a lot examined: kept in rows, so that holes can be named exactly."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, fields
from decimal import Decimal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import BadInput, Problem, Refusal, StoreUnusable
from refstd.base.quantity import plain
from refstd.base.text import key
from refstd.desk.entry import Draft, OptionalPositive, OptionalWhole, Words
from refstd.register.findings import ExaminedLot, FindingAction, FindingHold
from refstd.register.lab import Change, Look
from refstd.register.parts import JobDetails, JobPart, LotPart
from refstd.register.revisions import newest_of_each
from refstd.rules.parts import Hole, Part, counted, holes_from, holes_in_words, left, merged, of_job, parts_from


class DetailsDraft(Draft):
    """What is known of a job's parts, area and target. All of it may stay empty and may be given later."""

    heat_treatment: Words = ""
    part_conductivity_percent_iacs: OptionalPositive = Field(None, title="conductivity of the part, %IACS")
    coating_mm: OptionalPositive = Field(None, title="coating as measured, mm")
    shims: Words = Field("", description="the stack that stands for the coating, such as 0.05 + 0.03 mm")
    area_length_mm: OptionalPositive = Field(None, title="length of the area, mm")
    area_width_mm: OptionalPositive = Field(None, title="width of the area, mm")
    bores: OptionalWhole = Field(None, title="number of bores")
    bore_depth_mm: OptionalPositive = Field(None, title="depth of a bore, mm")
    weld_length_mm: OptionalPositive = Field(None, title="length of weld, mm")
    target_length_mm: OptionalPositive = Field(None, title="length of the target, mm")
    target_depth_mm: OptionalPositive = Field(None, title="depth of the target, mm")


@dataclass(frozen=True, slots=True)
class DetailsShown:
    """What is known of a job's parts, area and target: as measured or given, None or '' where it is not."""

    heat_treatment: str = ""
    part_conductivity_percent_iacs: Decimal | None = None
    coating_mm: Decimal | None = None
    shims: str = ""
    area_length_mm: Decimal | None = None
    area_width_mm: Decimal | None = None
    bores: int | None = None
    bore_depth_mm: Decimal | None = None
    weld_length_mm: Decimal | None = None
    target_length_mm: Decimal | None = None
    target_depth_mm: Decimal | None = None

    def stated(self) -> tuple[tuple[str, str], ...]:
        """Return what is known as (about, with its unit), in the order in which it is asked."""
        area = (
            f"{plain(self.area_length_mm)} mm x {plain(self.area_width_mm)} mm"
            if self.area_length_mm is not None and self.area_width_mm is not None
            else ""
        )
        bores = (
            f"{self.bores}, {plain(self.bore_depth_mm)} mm deep"
            if self.bores is not None and self.bore_depth_mm is not None
            else ""
        )
        known = (
            ("heat treatment", self.heat_treatment), ("conductivity of the part", _mm(self.part_conductivity_percent_iacs, "%IACS")),
            ("coating", _mm(self.coating_mm)), ("shims", self.shims), ("area to scan", area), ("bores", bores),
            ("weld", _mm(self.weld_length_mm)), ("length of the target", _mm(self.target_length_mm)),
            ("depth of the target", _mm(self.target_depth_mm)),
        )  # fmt: skip
        return tuple((about, says) for about, says in known if says)


def _mm(value: Decimal | None, unit: str = "mm") -> str:
    return f"{plain(value)} {unit}" if value is not None else ""


def named_parts(text: str, what: str) -> tuple[Part, ...]:
    """Return the parts that a line names, or refuse what cannot be read."""
    found = parts_from(text)
    if isinstance(found, Problem):
        raise BadInput(what, [found])
    return found


def details_problems(draft: DetailsDraft, form: str) -> list[Problem]:
    """Return what is wrong with the details of a job on a part of this form."""
    problems = []
    for one, other in (("area_length_mm", "area_width_mm"), ("bores", "bore_depth_mm")):
        if (getattr(draft, one) is None) != (getattr(draft, other) is None):
            lacks = one if getattr(draft, one) is None else other
            problems.append(Problem(lacks, "is missing", f"Give both or neither: {one} and {other}."))
    for field, forms in (("bores", ("bore", "countersink")), ("weld_length_mm", ("weld",))):
        if getattr(draft, field) is not None and form not in forms:
            problems.append(Problem(field, f"does not belong to the form {form}", "Leave it out, or correct the form."))
    return problems


def keep_job_parts(change: Change, job_id: int, parts: Iterable[Part]) -> None:
    """Add the rows of a job's parts."""
    for place, part in enumerate(parts, start=1):
        change.add(
            JobPart(
                job_id=job_id, place=place, serial=part.serial, zone=part.zone, holes=holes_in_words(part.holes)
            )
        )  # fmt: skip


def keep_details(change: Change, job_id: int, draft: DetailsDraft, why: str) -> None:
    """Add the next revision of a job's details."""
    last = details_row(change, job_id)
    number = last.revision + 1 if last else 1
    change.add(JobDetails(job_id=job_id, revision=number, why=why, **draft.model_dump()))


def details_row(look: Look, job_id: int) -> JobDetails | None:
    """Return the newest details of a job, None where nothing was given."""
    return newest_of_each(look.session, JobDetails, JobDetails.job_id, look.upto, JobDetails.job_id == job_id).get(
        job_id
    )


def details_of(look: Look, job_id: int) -> DetailsShown:
    """Return what is known of a job's parts, area and target."""
    row = details_row(look, job_id)
    return DetailsShown(**{f.name: getattr(row, f.name) for f in fields(DetailsShown)}) if row else DetailsShown()


def job_parts(look: Look, job_id: int) -> tuple[tuple[int, Part], ...]:
    """Return the parts of a job in order, each with its internal id."""
    query = select(JobPart).where(JobPart.job_id == job_id, JobPart.entry <= look.upto).order_by(JobPart.place)
    return tuple((r.id, Part(r.serial, r.zone, _holes(r.holes))) for r in look.session.execute(query).scalars())


def _holes(kept: str) -> tuple[Hole, ...]:
    found = holes_from(kept) if kept else ()
    if isinstance(found, Problem):  # not written by `holes_in_words`
        raise StoreUnusable(found.wrong, "holes of a part", "Run `refstd verify --deep`.")
    return found


def lot_parts(
    look: Look, *, job_id: int | None = None, ids: Collection[int] | None = None
) -> dict[int, tuple[Part, ...]]:
    """Return what each lot examined, of a job or of all, by the lot's internal id."""
    query = (
        select(LotPart, JobPart)
        .join(JobPart, JobPart.id == LotPart.job_part_id)
        .where(LotPart.entry <= look.upto)
        .order_by(LotPart.lot_id, LotPart.place)
    )
    if job_id is not None:
        query = query.where(JobPart.job_id == job_id)
    if ids is not None:
        query = query.where(LotPart.lot_id.in_(ids))
    found: dict[int, list[Part]] = {}
    for row, part in look.session.execute(query):
        found.setdefault(row.lot_id, []).append(Part(part.serial, row.zone, _holes(row.holes)))
    return {lot: tuple(parts) for lot, parts in found.items()}


def keep_lot_parts(change: Change, lot: ExaminedLot, named: Iterable[Part]) -> None:
    """Add what a lot examined: parts and holes of its job, none of them in another lot that is not decided.

    Holes may be examined again, and logged again, after a disposition of the lot that has them.
    """
    ids, parts = zip(*job_parts(change, lot.job_id), strict=True)
    taken = _taken(change, lot.job_id)
    for place, said in enumerate(named, start=1):
        found = of_job(parts, said)
        if isinstance(found, Problem):
            raise BadInput("examined lot", [found])
        which, part = found
        for hole in part.holes:
            before = taken.get((ids[which], key(part.zone), hole))
            if before:
                raise Refusal(
                    *_twice(
                        part, before, [h for h in part.holes if taken.get((ids[which], key(part.zone), h)) == before]
                    )
                )
            taken[ids[which], key(part.zone), hole] = lot.number
        change.add(
            LotPart(
                lot_id=lot.id, job_part_id=ids[which], place=place, zone=part.zone, holes=holes_in_words(part.holes)
            )
        )


def _twice(part: Part, before: str, holes: list[Hole]) -> tuple[str, str, str]:
    which = f"{counted(holes)} {holes_in_words(holes)} of {part.place}"
    return (
        f"{which} stand in lot {before}" if len(holes) > 1 else f"{which} stands in lot {before}",
        "parts",
        f"Take {'them' if len(holes) > 1 else 'it'} out; what is examined again is logged once lot {before} has a disposition.",
    )


def _taken(look: Look, job_id: int) -> dict[tuple[int, str, Hole], str]:
    """Return the lot that has each hole of a job; a lot that was decided leaves its holes free to be examined again."""
    decided = (
        select(FindingHold.lot_id)
        .join(FindingAction, FindingAction.finding_id == FindingHold.finding_id)
        .where(FindingAction.kind != "note", FindingHold.lot_id.is_not(None))
    )
    query = (
        select(LotPart, ExaminedLot.number)
        .join(ExaminedLot, ExaminedLot.id == LotPart.lot_id)
        .where(ExaminedLot.job_id == job_id, ExaminedLot.id.not_in(decided), LotPart.entry <= look.upto)
    )
    return {
        (row.job_part_id, key(row.zone), hole): number
        for row, number in look.session.execute(query)
        for hole in _holes(row.holes)
    }


@dataclass(frozen=True, slots=True)
class Progress:
    """What of a job no lot has examined, and what only lots that a finding still holds have."""

    left: tuple[Part, ...]
    in_doubt: tuple[Part, ...]

    def by_part(self, listed: Iterable[Part]) -> tuple[tuple[str, str, str], ...]:
        """Return each part of the job in words with what of it is left and what is in doubt, '' for nothing."""
        return tuple((p.in_words(), _here(p, self.left), _here(p, self.in_doubt)) for p in listed)


def progress(look: Look, job_id: int) -> Progress:
    """Return how far a job is, by part and hole."""
    released = select(FindingAction.finding_id).where(FindingAction.kind == "release", FindingAction.entry <= look.upto)
    held = select(FindingHold.lot_id).where(
        FindingHold.lot_id.is_not(None), FindingHold.entry <= look.upto, FindingHold.finding_id.not_in(released)
    )
    doubtful = set(look.session.execute(held).scalars())
    parts = job_parts(look, job_id)
    places = {number: place for place, (number, _) in enumerate(parts)}
    query = (
        select(LotPart)
        .join(JobPart, JobPart.id == LotPart.job_part_id)
        .where(JobPart.job_id == job_id, LotPart.entry <= look.upto)
    )
    rows = look.session.execute(query).scalars().all()
    done = [
        (
            r.lot_id in doubtful,
            places[r.job_part_id],
            Part(parts[places[r.job_part_id]][1].serial, r.zone, _holes(r.holes)),
        )
        for r in rows
    ]
    sound = {
        (place, key(p.zone), hole) for held_lot, place, p in done if not held_lot for hole in p.holes or (("", 0),)
    }
    doubt = []
    for held_lot, place, p in done:
        still = tuple(h for h in p.holes or (("", 0),) if (place, key(p.zone), h) not in sound)
        if held_lot and still:
            doubt.append(Part(p.serial, p.zone, still if p.holes else ()))
    return Progress(left([p for _, p in parts], [(place, p) for _, place, p in done]), merged(doubt))


def _here(part: Part, found: Iterable[Part]) -> str:
    here = [f for f in found if f.serial == part.serial and (not part.zone or key(f.zone) == key(part.zone))]
    return "; ".join(
        ("" if f.zone == part.zone else f"zone {f.zone} ") + (holes_in_words(f.holes) or "all of it") for f in here
    )
