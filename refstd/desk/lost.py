"""Lost and found: what was known about an item when it was missed, who was told, and how it came back."""

from dataclasses import dataclass
from datetime import datetime

from pydantic import Field
from sqlalchemy import or_, select

from refstd.base.errors import NotFound, Refusal
from refstd.desk.custody import keep_check_in
from refstd.desk.entry import Draft, NeededWords, Number, Words, YesNo
from refstd.desk.holds import keep_finding
from refstd.desk.items import items_of
from refstd.desk.known import named
from refstd.desk.loans import loans_within, open_loans
from refstd.desk.lots import uncovered
from refstd.desk.people import code_of, may
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import ItemFound, Loss, LossTold
from refstd.register.equipment import Equipment, EquipmentState
from refstd.register.findings import ExaminedLot, Finding
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.revisions import standing

CAUSE = "lost"


class LossDraft(Draft):
    """A loss to put on record."""

    asset_no: Number = Field(title="asset number")
    last_seen: NeededWords = Field(description="where, when and by whom it was last seen")
    told: Words = Field("", title="who was told", description="the owner or the custodian, and how; empty: nobody yet")


class FoundDraft(Draft):
    """A lost item that was found."""

    asset_no: Number = Field(title="asset number")
    place: NeededWords = Field(title="where it was found")
    sound: YesNo = True
    condition: NeededWords
    counts: Words = Field(
        "", title="pieces counted", description="where pieces went out with it, such as shim=3; tip=2"
    )
    part: Words = Field("", description="where a count does not agree: the aircraft or part to look at")
    area: Words = Field("", description="and the area of it")


@dataclass(frozen=True, slots=True)
class LossShown:
    """A loss as on record; found_at is None while it is lost."""

    asset_no: str
    name: str
    owner: str
    finding: str
    happened_at: datetime
    person: str
    last_seen: str
    says: str  # with the last check, the jobs since and the return that is due, as they stood when it was missed
    told: tuple[tuple[datetime, str, str], ...]  # when, by whom, who was told and how
    found_at: datetime | None
    found_by: str
    place: str
    condition: str
    sound: bool | None

    def told_in_words(self) -> str:
        """Return who was told, or that nobody was: whom it concerns is the owner, in the house the custodian."""
        return "; ".join(t[2] for t in self.told) or f"{self.owner or 'the custodian'} not told yet"

    def found_in_words(self) -> str:
        """Return how it came back, '' while it is lost."""
        if self.found_at is None:
            return ""
        return f"found by {self.found_by}: {self.place}, {'sound' if self.sound else 'not sound'}: {self.condition}"


def report_lost(lab: Lab, draft: LossDraft, *, by: str, now: datetime, operation: str = "") -> str:
    """Put on record that an item is lost, and return the number of the finding.

    It holds the item and every lot of which the closing check can no longer be made with it.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "report a loss")
        item = named(change, Equipment, draft.asset_no)
        shown = items_of(change, [item.id])[item.id]
        if shown.state in ("lost", "retired"):
            remedy = f"Say who was told, or that it was found: `refstd found {item.asset_no}`."
            raise Refusal(
                f"{item.asset_no} is {shown.state} already", "", remedy if shown.state == "lost" else "Nothing to do."
            )
        lots, known = _uncovered_lots(change, item.id), _known_about(change, item)
        says = f"{item.asset_no} is lost, last seen {draft.last_seen}; {known}"
        number = keep_finding(change, CAUSE, says, item=item, lots=lots)
        finding = named(change, Finding, number)
        loss = change.add(
            Loss(
                equipment_id=item.id, finding_id=finding.id, person_id=change.by.person_id, last_seen=draft.last_seen,
                happened_at=change.instant,
            )
        )  # fmt: skip
        if draft.told:
            _keep_told(change, loss, draft.told)
        _keep_state(change, item, "lost", f"last seen {draft.last_seen}", shown.location)
        change.record("item lost", item=item.asset_no, finding=number)
        return number


def tell_owner(lab: Lab, asset_no: str, told: str, *, by: str, now: datetime, operation: str = "") -> None:
    """Put on record who was told of a loss, and how."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "report a loss")
        item = named(change, Equipment, asset_no)
        loss = _loss_of(change, item)
        if not told.strip():
            raise Refusal("say who was told, and how", item.asset_no, "Give it with --told.")
        _keep_told(change, loss, told.strip())
        change.record("told of the loss", item=item.asset_no, told=told.strip())


def report_found(lab: Lab, draft: FoundDraft, *, by: str, now: datetime, operation: str = "") -> tuple[str, ...]:
    """Put on record that a lost item was found; it is quarantined, and a loan that was open ends. Returns new findings.

    Back in service it comes by the custodian, after an inspection or an acceptable check, and when its finding is released.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "report a loss")
        item = named(change, Equipment, draft.asset_no)
        state = items_of(change, [item.id])[item.id].state
        if state != "lost":
            raise NotFound(f"{item.asset_no} is not lost: {state}", "", "Nothing was recorded.")
        found: tuple[str, ...] = ()
        if item.id in open_loans(change, [item.id]):
            counted = [f"{item.asset_no}: {draft.counts}"] if draft.counts else []
            found = keep_check_in(
                change, [item.asset_no], draft.sound, draft.condition, counted, draft.part, draft.area
            )
        elif not draft.sound:
            found = (keep_finding(change, "damage", f"found not sound: {draft.condition}", item=item),)
        change.add(
            ItemFound(
                equipment_id=item.id, person_id=change.by.person_id, place=draft.place, sound=draft.sound, condition=draft.condition,
                happened_at=change.instant,
            )
        )  # fmt: skip
        _keep_state(change, item, "quarantined", f"was lost, found by {change.by.code}: {draft.condition}", draft.place)
        change.record("item found", item=item.asset_no, findings=list(found))
        return found


def losses(lab: Lab, when: When) -> tuple[LossShown, ...]:
    """Return every loss on record, newest first."""
    with lab.look(when) as look:
        return losses_in(look)


def losses_in(look: Look, equipment_id: int | None = None) -> tuple[LossShown, ...]:
    """Return the losses of an item or of all, within a look, newest first."""
    query = select(Loss).where(Loss.entry <= look.upto).order_by(Loss.id.desc())
    if equipment_id is not None:
        query = query.where(Loss.equipment_id == equipment_id)
    return tuple(_shown(look, row) for row in look.session.execute(query).scalars())


def _shown(look: Look, row: Loss) -> LossShown:
    item = items_of(look, [row.equipment_id])[row.equipment_id]
    finding = look.session.get_one(Finding, row.finding_id)
    told = look.session.execute(
        select(LossTold).where(LossTold.loss_id == row.id, LossTold.entry <= look.upto).order_by(LossTold.id)
    ).scalars()
    found = look.session.execute(
        select(ItemFound)
        .where(ItemFound.equipment_id == row.equipment_id, ItemFound.entry > row.entry, ItemFound.entry <= look.upto)
        .order_by(ItemFound.id)
    ).scalars().first()  # fmt: skip
    return LossShown(
        item.asset_no, item.name, item.owner, finding.number, row.happened_at, code_of(look, row.person_id), row.last_seen, finding.says,
        tuple((t.happened_at, code_of(look, t.person_id), t.told) for t in told), found.happened_at if found else None,
        code_of(look, found.person_id) if found else "", found.place if found else "", found.condition if found else "",
        found.sound if found else None,
    )  # fmt: skip


def _loss_of(change: Change, item: Equipment) -> Loss:
    """Return the loss of an item that is lost, or refuse."""
    row = change.session.execute(
        select(Loss).where(Loss.equipment_id == item.id).order_by(Loss.id.desc()).limit(1)
    ).scalar_one_or_none()
    if row is None or items_of(change, [item.id])[item.id].state != "lost":
        raise NotFound(
            f"no loss of {item.asset_no} is open", "", f"Put the loss on record first: `refstd lost {item.asset_no}`."
        )
    return row


def _keep_told(change: Change, loss: Loss, told: str) -> None:
    change.add(LossTold(loss_id=loss.id, person_id=change.by.person_id, told=told, happened_at=change.instant))


def _keep_state(change: Change, item: Equipment, state: str, why: str, location: str) -> None:
    change.add(
        EquipmentState(equipment_id=item.id, state=state, location=location, why=why, happened_at=change.instant)
    )


def _with_item(look: Look, equipment_id: int) -> list[ResponseCheck]:
    """Return the checks that count and were made with an item, oldest first."""
    kit = (Setup.block_id, Setup.probe_id, Setup.instrument_id, ResponseCheck.cable_id, ResponseCheck.adapter_id)
    query = standing(ResponseCheck, look.upto, or_(*(c == equipment_id for c in kit))).join(
        Setup, Setup.id == ResponseCheck.setup_id
    )
    return sorted(look.session.execute(query).scalars(), key=lambda c: (c.happened_at, c.id))


def _uncovered_lots(change: Change, equipment_id: int) -> tuple[ExaminedLot, ...]:
    """Return the lots that rest on an item and that no acceptable check has followed: with it, none can be made."""
    pairs = {(c.job_id, c.setup_id): None for c in _with_item(change, equipment_id) if c.job_id}
    ids = {x.id: None for job, setup in pairs if job for x in uncovered(change, job, setup)}
    return tuple(change.session.get_one(ExaminedLot, number) for number in ids)


def _known_about(look: Look, item: Equipment) -> str:
    """Return the last acceptable check, the jobs that it was on since, and the return that is due, in words."""
    good = [c for c in _with_item(look, item.id) if c.outcome == "acceptable"]
    since = good[-1].happened_at if good else None
    jobs = {
        x.job
        for x in loans_within(look, [item.id])
        if since is None or (x.returned_at or x.handed_at or look.instant) >= since
    }
    loan = open_loans(look, [item.id]).get(item.id)
    check = f"check {good[-1].number} of {since.astimezone(look.zone):%Y-%m-%d %H:%M}" if since else "none on record"
    return "; ".join(
        (
            f"last acceptable {check}" if since else "last acceptable check: none on record",
            f"jobs since: {', '.join(sorted(jobs)) or 'none'}",
            f"due back {loan.due_back_on} from {loan.holder}, job {loan.job}" if loan else "not out on loan",
        )
    )  # fmt: skip
