"""States of equipment: where an item is in its life, what a change of state is refused for, and what coming back means."""

from datetime import datetime
from itertools import takewhile
from typing import Literal, cast

from pydantic import Field
from sqlalchemy import func, or_, select

from refstd.base.errors import Refusal
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Words,
    draft_or_refuse,
)
from refstd.desk.events import EventDraft, events_of, keep_event
from refstd.desk.known import named
from refstd.desk.loans import open_loans
from refstd.desk.papers import standing_certificates
from refstd.desk.people import may
from refstd.register.certificates import Certificate
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.custody import ItemFound
from refstd.register.equipment import (
    Equipment,
    EquipmentState,
    ReceiptInspection,
)
from refstd.register.lab import Change, Lab
from refstd.rules.duties import AWAITING

State = Literal[
    "in service",
    "awaiting receipt",
    "quarantined",
    "in repair",
    "lost",
    "retired",
    "stored",
    "away at laboratory",
    "calibrate before use",
    "reference only",
]


class StateDraft(Draft):
    """A change of an item's state, with the reason."""

    state: State
    why: NeededWords = Field(title="reason")
    location: Words = Field("", description="empty: where it was")


def set_state(
    lab: Lab, asset_no: str, state: str, why: str, *, location: str = "", by: str, now: datetime, operation: str = ""
) -> tuple[str, ...]:
    """Put an item into a state. A technician may quarantine; any other change is the custodian's.

    Back in service after a repair, the event 'repaired' is recorded too, unless what was done is on record already.
    Returns the numbers of the findings that hold lots which the repair leaves without a check.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        found = keep_state(change, asset_no, state, why, location=location)
        change.record("state changed", item=asset_no, state=state, why=why)
        return found


def keep_state(change: Change, asset_no: str, state: str, why: str, *, location: str = "") -> tuple[str, ...]:
    """Add the row of a state change; return the numbers of the findings that a repair opens."""
    may(change, "quarantine" if state == "quarantined" else "change a state")
    item = named(change, Equipment, asset_no)
    if state not in cast(tuple[str, ...], State.__args__):  # type: ignore[attr-defined]
        raise Refusal(f"'{state}' is not a state", "", f"Use one of {', '.join(State.__args__)}.")  # type: ignore[attr-defined]
    if not why.strip():
        raise Refusal("a change of state needs a reason", item.asset_no, "Give it with --why.")
    last = change.session.execute(
        select(EquipmentState).where(EquipmentState.equipment_id == item.id).order_by(EquipmentState.id.desc()).limit(1)
    ).scalar_one()
    if last.state == "retired":
        raise Refusal(
            f"{item.asset_no} is retired", "", "A retired item does not come back; enter it under a new number."
        )
    _refuse_loss(item, last.state, state)
    _refuse_contradiction(change, item, last, state)
    change.add(
        EquipmentState(
            equipment_id=item.id,
            state=state,
            location=location or last.location,
            why=why.strip(),
            happened_at=change.instant,
        )
    )
    return _keep_repair(change, item, why.strip()) if state == "in service" else ()


def _refuse_loss(item: Equipment, before: str, state: str) -> None:
    """Refuse to lose or find an item in passing: both are put on record with what is known about it."""
    if state == "lost":
        raise Refusal(
            f"{item.asset_no}: a loss is put on record with where it was last seen and who was told", "",
            f"Use Lost on its record, or `refstd lost {item.asset_no}`.",
        )  # fmt: skip
    if before == "lost" and state != "retired":
        raise Refusal(
            f"{item.asset_no} is lost", "", f"Put on record that it was found: Found on its record, or `refstd found {item.asset_no}`."
        )  # fmt: skip


def _refuse_unseen(change: Change, item: Equipment) -> None:
    """Refuse an item that was found and that nobody has inspected or checked since: what happened to it nobody knows."""
    since = change.session.execute(
        select(func.max(ItemFound.entry)).where(ItemFound.equipment_id == item.id)
    ).scalar_one()
    if since is None:
        return
    papers = [p for p in standing_certificates(change, item.id) if p.entry > since and p.result != "not sound"]
    kit = (Setup.block_id, Setup.probe_id, Setup.instrument_id, ResponseCheck.cable_id, ResponseCheck.adapter_id)
    checked = (
        select(ResponseCheck.id)
        .join(Setup, Setup.id == ResponseCheck.setup_id)
        .where(ResponseCheck.entry > since, ResponseCheck.outcome == "acceptable", or_(*(c == item.id for c in kit)))
    )
    if not papers and change.session.execute(checked).first() is None:
        raise Refusal(
            f"{item.asset_no} was lost and found, and nobody has inspected or checked it since", "",
            "File its inspection, calibration or verification first; or make an acceptable check with it outside a job.",
        )  # fmt: skip


def _refuse_contradiction(change: Change, item: Equipment, last: EquipmentState, state: str) -> None:
    """Refuse what the records contradict: at a laboratory while it is out, or back in use without its calibration."""
    loan = open_loans(change, [item.id]).get(item.id)
    if state in ("stored", "away at laboratory", AWAITING) and loan is not None:
        where = f"{item.asset_no} is out with {loan.holder} for job {loan.job}"
        raise Refusal(where, "", "Check it in first.")
    if state == "in service":
        _refuse_unreceived(change, item)
        _refuse_unseen(change, item)
    if last.state != "calibrate before use" or state != "in service":
        return
    since = _gone_since(change, item, last)
    day = since.happened_at.astimezone(change.zone).date()
    papers = standing_certificates(change, item.id)
    done = [p for p in papers if p.activity == "calibration" and p.result != "not sound" and p.performed_on >= day]
    if not any(_first_filed(change, p) > since.entry for p in done):
        raise Refusal(
            f"{item.asset_no} is to be calibrated before use, and no calibration done since {day} has been filed", last.why,
            "File its certificate first; one done before, or a correction of an older one, does not count. If the state was a mistake, quarantine it with that reason before it goes back.",
        )  # fmt: skip


def _gone_since(change: Change, item: Equipment, last: EquipmentState) -> EquipmentState:
    """Return the state from which on a calibration counts: the last, or, straight from repair or a laboratory, its going there.

    What the repairer calibrates before it sends the item back is done before the item is here again.
    """
    earlier = select(EquipmentState).where(EquipmentState.equipment_id == item.id, EquipmentState.id < last.id)
    states = change.session.execute(earlier.order_by(EquipmentState.id.desc())).scalars()
    return [last, *takewhile(lambda s: s.state in ("in repair", "away at laboratory"), states)][-1]


def _first_filed(change: Change, paper: Certificate) -> int:
    """Return the log entry by which a paper came on record: that of the first one where it corrects others."""
    while paper.supersedes_id is not None:
        paper = change.session.get_one(Certificate, paper.supersedes_id)
    return paper.entry


def _refuse_unreceived(change: Change, item: Equipment) -> None:
    """Refuse an item that came in and was not found as ordered since: whatever states lie between, nobody has looked."""
    came = select(func.max(EquipmentState.id)).where(
        EquipmentState.equipment_id == item.id, EquipmentState.state == AWAITING
    )
    since = change.session.execute(select(EquipmentState.entry).where(EquipmentState.id.in_(came))).scalar_one_or_none()
    if since is None:
        return
    looked = select(ReceiptInspection.id).where(
        ReceiptInspection.equipment_id == item.id, ReceiptInspection.outcome == "as ordered", ReceiptInspection.entry > since
    )  # fmt: skip
    if change.session.execute(looked).first() is None:
        raise Refusal(
            f"{item.asset_no} awaits its receipt inspection", "",
            f"Do it from its record, or with `refstd receive {item.asset_no}`; as ordered, it is in service by that.",
        )  # fmt: skip


def _keep_repair(change: Change, item: Equipment, why: str) -> tuple[str, ...]:
    """Record 'repaired' for an item that comes back from repair, unless somebody has recorded what was done.

    The event stands at the instant at which the item went into repair: a check made between then and its return to
    service, which is how a repair is verified, is no longer one of the old record.
    """
    states = change.session.execute(
        select(EquipmentState)
        .where(EquipmentState.equipment_id == item.id)
        .order_by(EquipmentState.id.desc())
        .offset(1)
    ).scalars()
    gone = [s for s in takewhile(lambda s: s.state != "in service", states) if s.state == "in repair"]
    if not gone:
        return ()
    since = gone[-1].happened_at
    if any(e.breaks and e.happened_at >= since for e in events_of(change, [item.id])):
        return ()
    note = f"in repair from then on, back in service {change.instant.astimezone(change.zone):%Y-%m-%d %H:%M}: {why}"
    values = {"asset_no": item.asset_no, "event": "repaired", "happened_at": since.isoformat(), "note": note}
    return keep_event(change, draft_or_refuse(EventDraft, values, item.asset_no))
