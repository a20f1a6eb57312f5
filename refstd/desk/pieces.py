"""Counted pieces: what of a kit is to be counted, and what is done when a piece is unaccounted for."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select

from refstd.base.errors import BadInput, Problem, Refusal
from refstd.base.text import key
from refstd.desk.holds import keep_finding
from refstd.desk.items import items_of
from refstd.desk.job_parts import job_parts
from refstd.desk.known import named
from refstd.desk.loans import LoanShown, open_loans
from refstd.register.custody import Loan, Unaccounted
from refstd.register.equipment import Equipment
from refstd.register.findings import ExaminedLot, Finding, FindingAction, FindingHold
from refstd.register.lab import Change, Lab, Look, When
from refstd.rules.pieces import Difference, Piece, counts_from, differences, pieces_from
from refstd.rules.pieces import in_words as in_words

CAUSE = "piece unaccounted for"


@dataclass(frozen=True, slots=True)
class ToCount:
    """A piece of an item that is to be counted; how many there should be."""

    asset_no: str
    name: str
    expected: int


@dataclass(frozen=True, slots=True)
class Missing:
    """An item of which a count does not agree, the job, and the job's parts with their zones, to say where it may be."""

    asset_no: str
    says: str
    job: str
    parts: tuple[tuple[str, str], ...]


def to_count_out(lab: Lab, asset_nos: Sequence[str], when: When) -> tuple[ToCount, ...]:
    """Return what is to be counted before these items go out."""
    with lab.look(when) as look:
        ids = [named(look, Equipment, n).id for n in dict.fromkeys(asset_nos)]
        shown = items_of(look, ids)
        return _to_count(described_pieces(look, [i for i in ids if not shown[i].shared]))  # shared: it stays here


def to_count_back(lab: Lab, asset_nos: Sequence[str], when: When) -> tuple[ToCount, ...]:
    """Return what is to be counted when these items come back: what was counted out."""
    with lab.look(when) as look:
        return _to_count(_counted_out(look, asset_nos))


def missing_of(lab: Lab, asset_nos: Sequence[str], lines: Sequence[str], when: When) -> tuple[Missing, ...]:
    """Return where these counts do not agree with what went out; refuse counts that cannot be read."""
    with lab.look(when) as look:
        expected = _counted_out(look, asset_nos)
        counted = counts_or_refuse(lines, expected)
        loans = {look.session.get_one(Equipment, i).asset_no: x for i, x in open_loans(look).items()}
        return tuple(
            Missing(number, "; ".join(d.in_words() for d in found), loans[number].job, _parts(look, loans[number]))
            for number in counted
            if (found := differences(expected[number], counted[number]))
        )


def described_pieces(look: Look, ids: Collection[int]) -> dict[str, tuple[Piece, ...]]:
    """Return the counted pieces that the register says each of these items has."""
    shown = items_of(look, ids)
    return {shown[i].asset_no: read_pieces(shown[i].pieces) for i in ids}


def read_pieces(kept: str) -> tuple[Piece, ...]:
    """Return pieces as kept; they were read once already."""
    found = pieces_from(kept)
    assert not isinstance(found, Problem)
    return found


def counts_or_refuse(lines: Sequence[str], expected: Mapping[str, Sequence[Piece]]) -> dict[str, tuple[Piece, ...]]:
    """Return what was counted of each item, or refuse."""
    found = counts_from(lines, expected)
    if isinstance(found, list):
        raise BadInput("count of pieces", found)
    return found


def refuse_incomplete(counted: Mapping[str, Sequence[Piece]], expected: Mapping[str, Sequence[Piece]]) -> None:
    """Refuse an item that would go out with another count than the register says."""
    for number, pieces in counted.items():
        found = differences(expected[number], pieces)
        if found:
            says = ", ".join(f"{d.name}: {d.came_back} counted, {d.went_out} on record" for d in found)
            raise Refusal(
                f"{number} is not complete: {says}", "",
                "Count again. If it stays so, put a finding on record; the custodian describes the item anew.",
            )  # fmt: skip


def keep_unaccounted(
    change: Change, item: Equipment, loan: LoanShown, found: Sequence[Difference], part: str, area: str
) -> str:
    """Open the finding that a piece is unaccounted for: it holds the item and every lot of the job. Returns its number."""
    row = change.session.get_one(Loan, loan.loan_id)
    part, area = _place(change, loan, item.asset_no, part, area)
    lots = change.session.execute(select(ExaminedLot).where(ExaminedLot.job_id == row.job_id)).scalars()
    says = (
        f"{item.asset_no}: {'; '.join(d.in_words() for d in found)}. Look for it at {part}, {area}, of job {loan.job}"
    )
    number = keep_finding(change, CAUSE, says, item=item, lots=tuple(lots))
    change.add(Unaccounted(finding_id=named(change, Finding, number).id, loan_id=row.id, part=part, area=area))
    return number


def unaccounted_on(look: Look, job_id: int) -> tuple[Finding, ...]:
    """Return the findings of a job that a piece is unaccounted for and nobody has signed off."""
    signed = select(FindingAction.finding_id).where(FindingAction.kind == "release", FindingAction.entry <= look.upto)
    query = (
        select(Finding)
        .join(Unaccounted, Unaccounted.finding_id == Finding.id)
        .join(Loan, Loan.id == Unaccounted.loan_id)
        .where(Loan.job_id == job_id, Finding.entry <= look.upto, Finding.id.not_in(signed))
        .order_by(Finding.id)
    )
    return tuple(look.session.execute(query).scalars())


def hold_lot_of_job(change: Change, lot: ExaminedLot) -> str:
    """Hold a lot that is logged while a piece of its job is unaccounted for; return the finding's number, or ''."""
    found = unaccounted_on(change, lot.job_id)
    for finding in found:
        change.add(FindingHold(finding_id=finding.id, lot_id=lot.id))
    return found[0].number if found else ""


def refuse_unaccounted(change: Change, job_id: int, job: str) -> None:
    """Refuse to end a job while a piece is unaccounted for."""
    found = unaccounted_on(change, job_id)
    if found:
        raise Refusal(
            f"a piece is unaccounted for: {found[0].says}", f"job {job}, finding {found[0].number}",
            "Look for it; then somebody with the authority decides and releases the finding, with the reason.",
        )  # fmt: skip


def _place(change: Change, loan: LoanShown, asset_no: str, part: str, area: str) -> tuple[str, str]:
    """Return the part and area to look at, or refuse: who looks for a piece needs to know where."""
    parts = _parts(change, loan)
    if not part.strip() and len(parts) == 1:
        part = parts[0][0]
    known = [p for p in parts if key(p[0]) == key(part)]
    if not known:
        raise Refusal(
            f"a piece of {asset_no} is unaccounted for; say on which aircraft or part it may be",
            f"job {loan.job}", f"Count again; else name the part (--part) and the area (--area). Parts: {', '.join(dict.fromkeys(p[0] for p in parts))}.",
        )  # fmt: skip
    area = area.strip() or next((zone for _, zone in known if zone), "")
    if not area:
        raise Refusal(
            f"a piece of {asset_no} is unaccounted for; say in which area of {known[0][0]} it may be",
            f"job {loan.job}", "Count again; else name the area (--area).",
        )  # fmt: skip
    return known[0][0], area


def _parts(look: Look, loan: LoanShown) -> tuple[tuple[str, str], ...]:
    job_id = look.session.get_one(Loan, loan.loan_id).job_id
    return tuple((part.serial, part.zone) for _, part in job_parts(look, job_id))


def _counted_out(look: Look, asset_nos: Sequence[str]) -> dict[str, tuple[Piece, ...]]:
    rows = [named(look, Equipment, n) for n in dict.fromkeys(asset_nos)]
    loans = open_loans(look, [r.id for r in rows])
    return {r.asset_no: read_pieces(loans[r.id].counted) if r.id in loans else () for r in rows}


def _to_count(expected: Mapping[str, Sequence[Piece]]) -> tuple[ToCount, ...]:
    return tuple(ToCount(number, p.name, p.count) for number, pieces in expected.items() for p in pieces)
