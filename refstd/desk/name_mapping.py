"""What a laboratory's own names mean on an item: which notch, which quantity. Said once, kept with the certificate filed.

A name belongs to one laboratory and one item. The newest meaning counts, and the earlier ones stay on record.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import NotFound
from refstd.base.text import key, safe
from refstd.desk.certificates import CertificateDraft, Paper, ValueDraft, keep_certificate
from refstd.desk.known import named, notches_of
from refstd.desk.people import may
from refstd.register.certificates import NameMapping
from refstd.register.equipment import Equipment
from refstd.register.lab import Change, Lab, Look

WHOLE_ITEM, LEFT_OUT = "whole item", "left out"  # what a place may mean besides a notch


@dataclass(frozen=True, slots=True)
class Name:
    """A laboratory's name and its meaning: a notch's label, else `says` is WHOLE_ITEM, LEFT_OUT, or a quantity."""

    their_name: str
    notch: str = ""
    says: str = ""


def names_known(look: Look, equipment_id: int, laboratory: str) -> dict[str, Name]:
    """Return what a laboratory's names mean on an item, by the name's key."""
    labels = {n.id: n.label for n in notches_of(look, equipment_id).values()}
    rows = look.session.execute(
        select(NameMapping)
        .where(
            NameMapping.equipment_id == equipment_id,
            NameMapping.laboratory_key == key(laboratory),
            NameMapping.entry <= look.upto,
        )
        .order_by(NameMapping.id)
    ).scalars()
    return {
        key(r.their_name): Name(r.their_name, labels[r.notch_id] if r.notch_id else "", r.quantity) for r in rows
    }  # fmt: skip


def file_with_names(
    lab: Lab,
    draft: CertificateDraft,
    values: Sequence[ValueDraft],
    paper: Paper,
    names: Sequence[Name],
    *,
    supersedes: str = "",
    why: str = "",
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """File a certificate with its paper, and keep what the laboratory's names mean, in one act."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "file a certificate")
        keep_certificate(change, draft, values, paper, supersedes=supersedes, why=why)
        kept = keep_names(change, draft.asset_no, draft.laboratory, names)
        change.record(
            "certificate filed", item=draft.asset_no, activity=draft.activity, number=draft.number, read_from=paper.name, names_kept=kept
        )  # fmt: skip


def keep_names(change: Change, asset_no: str, laboratory: str, names: Sequence[Name]) -> int:
    """Add what is not known yet, or means something else from now on; return how many."""
    item = named(change, Equipment, asset_no)
    notches = notches_of(change, item.id)
    known = names_known(change, item.id, laboratory)
    kept = 0
    for name in names:
        notch = notches.get(key(name.notch)) if name.notch else None
        if name.notch and notch is None:
            raise NotFound(
                f"{item.asset_no} has no notch '{safe(name.notch)}'", safe(name.their_name), f"See `refstd show {item.asset_no}`."
            )  # fmt: skip
        before = known.get(key(name.their_name))
        if before is not None and (key(before.notch), before.says) == (key(name.notch), name.says):
            continue
        change.add(
            NameMapping(
                equipment_id=item.id,
                laboratory_key=key(laboratory),
                their_name=name.their_name,
                notch_id=None if notch is None else notch.id,
                quantity=name.says,
                happened_at=change.instant,
            )
        )
        kept += 1
    return kept
