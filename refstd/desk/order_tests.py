"""Order tests: two readings of one still signal, which of rotation and gain they tell, and the instrument that learns it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Literal, TypeVar

from pydantic import Field, ValidationInfo, field_validator
from sqlalchemy import select

from refstd.base.errors import Problem, Refusal
from refstd.base.quantity import Unit, derived, plain
from refstd.desk.entry import (
    AnyDecimal,
    Draft,
    GainDb,
    Number,
    RotationDeg,
    Words,
    instant_from_words,
    raise_problem,
    row_from,
)
from refstd.desk.items import ItemShown, among, items_of
from refstd.desk.known import named, of_kind
from refstd.desk.order_checks import question_checks
from refstd.desk.people import code_of, may
from refstd.eddy.order import OrderTold, Turned, gains_too_close, tell_order
from refstd.register.columns import Base
from refstd.register.equipment import EquipmentRevision, InstrumentDescription, OrderTest
from refstd.register.findings import Finding
from refstd.register.lab import Change, Lab, Look
from refstd.register.people import Person
from refstd.register.revisions import newest
from refstd.rules.figures import step_of

R = TypeVar("R", bound=Base)


class FirstReadingDraft(Draft):
    """The first reading of an order test: one still signal, with horizontal and vertical gain unequal."""

    asset_no: Number = Field(title="instrument")
    horizontal_gain_db: GainDb = Field(title="horizontal gain, dB")
    vertical_gain_db: GainDb = Field(title="vertical gain, dB", description="at least 3 dB from the other, best 12 dB")
    first_rotation_deg: RotationDeg = Field(title="rotation, °", description="counter-clockwise positive")
    first_horizontal: AnyDecimal = Field(
        title="horizontal", description="as seen, from balance, all digits you can read"
    )
    first_vertical: AnyDecimal = Field(title="vertical", description="as seen, from balance, all digits you can read")
    unit: Literal["div", "% FSH"] = Field("div", title="unit of readings")

    @field_validator("vertical_gain_db")
    @classmethod
    def _gains_apart(cls, vertical: Decimal, given: ValidationInfo) -> Decimal:
        """Refuse nearly equal gains before anything is read with them."""
        horizontal = given.data.get("horizontal_gain_db")
        if horizontal is not None and (told := gains_too_close(float(horizontal), float(vertical))):
            raise_problem(Problem("", *told))
        return vertical


class SecondReadingDraft(Draft):
    """The second reading: the same signal, the rotation turned and nothing else touched."""

    second_rotation_deg: RotationDeg = Field(
        title="rotation, °", description="turned by 40° to 60°; nothing else touched"
    )
    second_horizontal: AnyDecimal = Field(title="horizontal", description="the same still signal, as seen")
    second_vertical: AnyDecimal = Field(title="vertical", description="the same still signal, as seen")
    happened_at: Words = Field("", description="instant; empty: now")
    note: Words = Field("", description="the signal: lift-off, or which notch, and how the probe was held")
    why: Words = Field("", description="only where another order is on record: why that was wrong")


class OrderTestDraft(FirstReadingDraft, SecondReadingDraft):
    """One still signal shown at two rotations."""


class PastOrderTestDraft(OrderTestDraft):
    """An order test from another store's files."""

    read_by: Words = Field("", description="code of the person who read them; empty: who imports")


@dataclass(frozen=True, slots=True)
class OrderTestShown:
    """An order test as on record."""

    asset_no: str
    unit: str
    gains_db: tuple[Decimal, Decimal]  # horizontal, vertical
    first: tuple[Decimal, Decimal, Decimal]  # rotation °, horizontal, vertical
    second: tuple[Decimal, Decimal, Decimal]
    found: str
    person: str
    happened_at: datetime
    entry: int
    note: str
    finding: str = ""  # that names the acceptable checks which rest on another order that was on record until then
    superseded_by: str = ""  # what says the order since, '' while this test does

    def readings_in_words(self) -> str:
        """Return both readings with the gains they were taken at."""
        seen = "; ".join(
            f"at {plain(r)}° horizontal {plain(h)}, vertical {plain(v)} {self.unit}" for r, h, v in (self.first, self.second)
        )  # fmt: skip
        return f"{seen}; gains {plain(self.gains_db[0])} and {plain(self.gains_db[1])} dB"

    def same_as(self, draft: OrderTestDraft) -> bool:
        """Return whether a draft says what is on record: the same readings at the same gains."""
        first = (draft.first_rotation_deg, draft.first_horizontal, draft.first_vertical)
        second = (draft.second_rotation_deg, draft.second_horizontal, draft.second_vertical)
        gains = (draft.horizontal_gain_db, draft.vertical_gain_db)
        return (self.first, self.second, self.gains_db, self.unit) == (first, second, gains, draft.unit)

    def told(self) -> OrderTold:
        """Return what the readings tell."""
        return _told(self.first, self.second, self.gains_db)


def order_told(draft: OrderTestDraft) -> OrderTold:
    """Return what two readings tell, or why they tell nothing. Nothing is kept."""
    return _told(
        (draft.first_rotation_deg, draft.first_horizontal, draft.first_vertical),
        (draft.second_rotation_deg, draft.second_horizontal, draft.second_vertical),
        (draft.horizontal_gain_db, draft.vertical_gain_db),
    )


def figures_in_words(told: OrderTold) -> tuple[str, ...]:
    """Return by how much each order's length differs between the readings, against what their last digits allow."""
    rows = (
        ("rotate-then-scale", "with the gains undone", told.rotate_first_db, told.within_rotate_first_db),
        ("scale-then-rotate", "as seen", told.scale_first_db, told.within_scale_first_db),
    )
    return tuple(
        f"{order}: the amplitude {how} differs by {derived(apart, Unit.DB)} between the rotations; "
        f"the last digits allow {derived(within, Unit.DB)}"
        for order, how, apart, within in rows
        if apart < float("inf")
    )


def record_order_test(
    lab: Lab, draft: OrderTestDraft, *, by: str, now: datetime, operation: str = ""
) -> OrderTestShown:
    """Keep the two readings, and describe the instrument anew with the order they tell, where it comes from said.

    Refused when the readings tell no order, and when another one is on record and nobody says why that was wrong. Where
    another one was, a finding names the acceptable checks that rest on it and holds the lots examined under them.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "keep the register")
        row = keep_order_test(change, draft)
        shown = _shown(change, row, draft.asset_no)
        more = {name: said for name, said in (("why", draft.why), ("finding", shown.finding)) if said}
        change.record("order of rotation and gain tested", item=draft.asset_no, found=row.found, **more)
        return shown


def keep_past_order_test(change: Change, draft: PastOrderTestDraft) -> bool:
    """Add an order test from another store's files; return False where the same one is on record.

    A description that names the same order already, with where it comes from, stays as it is.
    """
    item = of_kind(change, draft.asset_no, "instrument")
    if any(t.same_as(draft) for t in order_tests_in(change, [item.id])):
        return False
    reader = named(change, Person, draft.read_by).id if draft.read_by else None
    keep_order_test(change, draft, reader)
    return True


def keep_order_test(change: Change, draft: OrderTestDraft, reader: int | None = None) -> OrderTest:
    """Add the rows of an order test, of the instrument's next description, and of the finding on a changed order.

    reader: the person who read them, where that is not who acts; then a description that names the order stays.
    """
    item = of_kind(change, draft.asset_no, "instrument")
    told = order_told(draft)
    if told.order is None:
        raise Refusal(told.why_not, f"order test of {item.asset_no}", told.cure)
    last = newest(change.session, EquipmentRevision, None, EquipmentRevision.equipment_id == item.id)
    before = change.session.execute(
        select(InstrumentDescription).where(InstrumentDescription.equipment_revision_id == last.id)
    ).scalar_one()
    if before.display_order not in ("unknown", told.order) and not draft.why:
        source = f" ({before.display_order_source})" if before.display_order_source else ""
        raise Refusal(
            f"the readings tell {told.order}, and on record is {before.display_order}{source}",
            f"order test of {item.asset_no}",
            "Read both anew. If the record is wrong, say why: every reading of this instrument is undone the other way then.",
        )  # fmt: skip
    moment = instant_from_words(draft.happened_at, change.zone) if draft.happened_at else change.instant
    row = change.add(
        row_from(
            OrderTest,
            draft,
            equipment_id=item.id,
            found=told.order,
            person_id=reader or change.by.person_id,
            happened_at=moment,
        )
    )
    if reader and before.display_order == told.order and before.display_order_source:
        return row
    source = f"two readings, {moment.astimezone(change.zone).date()}, {code_of(change, row.person_id)}"
    why = "order test" + (f": {draft.why}" if draft.why else "")
    revision = change.add(_copy(last, revision=last.revision + 1, why=why))
    change.add(
        _copy(before, equipment_revision_id=revision.id, display_order=told.order, display_order_source=source)
    )  # fmt: skip
    question_checks(change, item)
    return row


def _copy(row: R, **other: object) -> R:
    """Return a new row that says what another says, but for these columns."""
    left_out = {"id", "entry", "recorded_at"}
    kept = {c.name: getattr(row, c.name) for c in row.__table__.columns if c.name not in left_out}
    return type(row)(**kept | other)


def order_tests_in(look: Look, ids: Collection[int] | None = None) -> tuple[OrderTestShown, ...]:
    """Return the order tests of these instruments (None: of all), oldest first."""
    query = select(OrderTest).where(OrderTest.entry <= look.upto, *among(OrderTest.equipment_id, ids))
    rows = look.session.execute(query.order_by(OrderTest.happened_at, OrderTest.id)).scalars().all()
    known = items_of(look, [r.equipment_id for r in rows])
    return tuple(_shown(look, r, known[r.equipment_id].asset_no, _since(look, r, known, rows)) for r in rows)


def _since(look: Look, row: OrderTest, known: Mapping[int, ItemShown], rows: Sequence[OrderTest]) -> str:
    """Return what says the order since a test: the next one on record, or a description that names another order."""
    later = min(
        (r for r in rows if r.equipment_id == row.equipment_id and r.entry > row.entry), key=_entry, default=None
    )
    if later is not None:
        at = f"{later.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
        return f"the order test of {at} by {code_of(look, later.person_id)}, log entry {later.entry}"
    item = known[row.equipment_id]
    if item.special["display_order"] != row.found:
        return f"revision {item.revision} of the description: {item.special['display_order']}"
    return ""


def _entry(row: OrderTest) -> int:
    return row.entry


def _shown(look: Look, row: OrderTest, asset_no: str, superseded_by: str = "") -> OrderTestShown:
    finding = look.session.execute(select(Finding.number).where(Finding.entry == row.entry)).scalar()
    return OrderTestShown(
        asset_no, row.unit, (row.horizontal_gain_db, row.vertical_gain_db),
        (row.first_rotation_deg, row.first_horizontal, row.first_vertical),
        (row.second_rotation_deg, row.second_horizontal, row.second_vertical),
        row.found, code_of(look, row.person_id), row.happened_at, row.entry, row.note,
        finding or "", superseded_by,
    )  # fmt: skip


def _told(
    first: tuple[Decimal, Decimal, Decimal], second: tuple[Decimal, Decimal, Decimal], gains_db: tuple[Decimal, Decimal]
) -> OrderTold:
    return tell_order(_turned(*first), _turned(*second), float(gains_db[0]), float(gains_db[1]))


def _turned(rotation_deg: Decimal, horizontal: Decimal, vertical: Decimal) -> Turned:
    return Turned(float(rotation_deg), float(horizontal), float(vertical), step_of(horizontal), step_of(vertical))
