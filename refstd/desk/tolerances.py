"""The tolerances of an item: the limits that the lab sets for a certified value, and the decision rule, for papers filed from then on."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import NotFound, Problem, Refusal
from refstd.base.text import key, safe
from refstd.desk.entry import (
    DecisionRule,
    Draft,
    NeededWords,
    Number,
    OptionalDecimal,
    ValueUnit,
    Words,
    refuse_if,
    row_from,
)
from refstd.desk.items import items
from refstd.desk.known import named, notches_of
from refstd.desk.people import may
from refstd.register.certificates import Tolerance
from refstd.register.equipment import Equipment, Notch
from refstd.register.lab import Change, Lab, Look, When
from refstd.register.log import LogEntry
from refstd.register.revisions import standing
from refstd.rules.certified import DEPTH, place_of, quantity_key, window
from refstd.rules.conformity import limit_problems, rule_in_words, rule_problems


class ToleranceDraft(Draft):
    """The limits that the lab sets for a certified value of an item, with their source, and the decision rule if it names one."""

    asset_no: Number = Field(title="asset number")
    notch: Words = Field("", description="empty for a value of the whole item")
    quantity: NeededWords = Field(DEPTH, description="such as depth, length, width, conductivity")
    source: NeededWords = Field(
        description="where the limits come from: drawing, standard, procedure, with its paragraph"
    )
    lower_limit: OptionalDecimal = None
    upper_limit: OptionalDecimal = None
    unit: ValueUnit = "mm"
    decision_rule: DecisionRule = Field("", description="none by default: then nothing is judged, only compared")
    guard_ratio: OptionalDecimal = Field(None, title="guard band ratio r (w = r·U)")
    why: Words = Field("", description="the reason, where it takes another one's place")

    def in_words(self) -> str:
        """Return what it is of, its limits with their source, and the rule."""
        return _in_words(self, self.notch)


@dataclass(frozen=True, slots=True)
class ToleranceShown:
    """A tolerance in force: limits in `unit`, their source, the rule ('' for none), and who set it when, in which log entry."""

    asset_no: str
    notch: str
    quantity: str
    lower_limit: Decimal | None
    upper_limit: Decimal | None
    unit: str
    source: str
    decision_rule: str
    guard_ratio: Decimal | None
    person: str
    happened_at: datetime
    entry: int
    why: str

    @property
    def what(self) -> str:
        return f"notch {self.notch}, {self.quantity}" if self.notch else self.quantity

    @property
    def limits(self) -> str:
        return window(self.lower_limit, self.upper_limit, self.unit)

    @property
    def rule(self) -> str:
        return rule_in_words(self.decision_rule, self.guard_ratio)

    def in_words(self) -> str:
        """Return what it is of, its limits with their source, and the rule."""
        return _in_words(self, self.notch)


def _in_words(t: "ToleranceDraft | ToleranceShown | Tolerance", notch: str) -> str:
    what = f"notch {notch}, {t.quantity}" if notch else t.quantity
    return f"{what}: {window(t.lower_limit, t.upper_limit, t.unit)} ({t.source}), {rule_in_words(t.decision_rule, t.guard_ratio)}"


def set_tolerance(lab: Lab, draft: ToleranceDraft, *, by: str, now: datetime, operation: str = "") -> None:
    """Give an item's value limits and a decision rule; a later one supersedes, with a reason. Papers on record stay as judged."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "set a tolerance")
        keep_tolerance(change, draft)
        change.record("tolerance set", item=draft.asset_no, notch=draft.notch, quantity=draft.quantity)


def keep_tolerance(change: Change, draft: ToleranceDraft) -> None:
    """Add the row of a tolerance."""
    refuse_if(_problems(draft), f"tolerance of {draft.asset_no}")
    item = named(change, Equipment, draft.asset_no)
    notch = _notch(change, item, draft.notch)
    place = place_of(draft.notch, draft.quantity, draft.unit)
    before = next((r for r, label in _rows(change, item.id) if place_of(label, r.quantity, r.unit) == place), None)
    if before is not None and before.active and not draft.why:
        raise Refusal(
            f"{item.asset_no} has a tolerance in force: {tolerance_in_words(before, draft.notch)}",
            "why",
            "Say why it changes.",
        )
    change.add(
        row_from(
            Tolerance, draft, equipment_id=item.id, notch_id=notch.id if notch else None, active=True,
            supersedes_id=before.id if before else None, happened_at=change.instant,
        )
    )  # fmt: skip


def end_tolerance(
    lab: Lab, asset_no: str, notch: str, quantity: str, why: str, *, by: str, now: datetime, operation: str = ""
) -> None:
    """End a tolerance with a reason: papers filed from now on are judged without it. `notch`: '' for the whole item."""
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "set a tolerance")
        if not why.strip():
            raise Refusal("ending a tolerance needs a reason", "why", "Say why it holds no longer.")
        item = named(change, Equipment, asset_no)
        _notch(change, item, notch)
        wanted = key(notch), quantity_key(quantity)
        before = next(
            (r for r, x in _rows(change, item.id) if r.active and (key(x), quantity_key(r.quantity)) == wanted), None
        )
        if before is None:
            of = f"notch {safe(notch)}, {safe(quantity)}" if notch else safe(quantity)
            raise NotFound(f"{item.asset_no} has no tolerance in force for {of}", "", "See `refstd list tolerances`.")
        columns = {c.name: getattr(before, c.name) for c in Tolerance.__table__.columns}
        columns |= {
            "id": None,
            "active": False,
            "supersedes_id": before.id,
            "why": why.strip(),
            "happened_at": change.instant,
        }
        change.add(Tolerance(**columns))
        change.record("tolerance ended", item=item.asset_no, notch=notch, quantity=before.quantity)


def _notch(look: Look, item: Equipment, label: str) -> Notch | None:
    """Return a notch of an item by its label, None for ''."""
    if not label:
        return None
    notches = notches_of(look, item.id)
    if key(label) not in notches:
        known = ", ".join(n.label for n in notches.values()) or "none"
        raise NotFound(f"{item.asset_no} has no notch '{safe(label)}'", "notch", f"Its notches: {known}.")
    return notches[key(label)]


def _problems(draft: ToleranceDraft) -> list[Problem]:
    """Return what contradicts itself in a tolerance."""
    problems = [
        *limit_problems(draft.lower_limit, draft.upper_limit),
        *rule_problems(draft.decision_rule, draft.guard_ratio),
    ]
    if draft.lower_limit is None and draft.upper_limit is None:
        problems.append(Problem("lower_limit", "and upper_limit are both missing", "Give at least one."))
    return problems


def tolerances(lab: Lab, when: When) -> tuple[ToleranceShown, ...]:
    """Return the tolerances in force of all items."""
    with lab.look(when) as look:
        return tolerances_in(look)


def tolerances_in(look: Look, equipment_id: int | None = None) -> tuple[ToleranceShown, ...]:
    """Return the tolerances in force, of an item or of all, within a look, in the order in which they were set."""
    people = dict(look.session.execute(select(LogEntry.sequence, LogEntry.person)).all())
    return tuple(
        ToleranceShown(
            items(look)[r.equipment_id].asset_no, label, r.quantity, r.lower_limit, r.upper_limit, r.unit, r.source, r.decision_rule,
            r.guard_ratio, people[r.entry], r.happened_at, r.entry, r.why,
        )
        for r, label in _rows(look, equipment_id)
        if r.active
    )  # fmt: skip


def tolerance_in_words(r: Tolerance, notch: str) -> str:
    """Return a tolerance as recorded, for the history of its item."""
    says = _in_words(r, notch)
    return says + ("" if r.active else ", ended") + (f": {r.why}" if r.why else "")


def _rows(look: Look, equipment_id: int | None) -> list[tuple[Tolerance, str]]:
    """Return the newest tolerances, ended or not, with the label of the notch ('' for the whole item)."""
    own = () if equipment_id is None else (Tolerance.equipment_id == equipment_id,)
    rows = look.session.execute(standing(Tolerance, look.upto, *own)).scalars().all()
    labels = dict(
        look.session.execute(select(Notch.id, Notch.label).where(Notch.id.in_([r.notch_id for r in rows]))).all()
    )
    return [(r, labels[r.notch_id] if r.notch_id else "") for r in rows]
