"""The receipt inspection: what the item was ordered as, one row a point, and the item in service or held; and one on record."""

from collections.abc import Sequence
from typing import Any, ClassVar

from textual.widget import Widget

from refstd.base.quantity import plain, with_unit
from refstd.desk.history import ItemRecord, item_record
from refstd.desk.procedures import ProcedureShown, procedures
from refstd.desk.receipt import PointAsked, PointDraft, ReceiptDraft, ReceiptSheet, ReceiptShown, receipt_sheet, receive
from refstd.tui.asking import Choose
from refstd.tui.commands import BACK, EVERYWHERE, HELP, Command
from refstd.tui.forms import KeepButton
from refstd.tui.grid import F2, F6, GridColumn, GridRow, GridScreen, HeadForm
from refstd.tui.pages import Page
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row

_COLUMNS = (
    GridColumn("point", "point", 18, fixed=True), GridColumn("outcome", "outcome", 9), GridColumn("value", "value", 6),
    GridColumn("unit", "unit", 5), GridColumn("lower_limit", "lower", 5), GridColumn("upper_limit", "upper", 5),
    GridColumn("limit_source", "limit from", 10), GridColumn("found", "found, or why not", 9),
)  # fmt: skip
NOTE = "A measured point: value, unit, limit and where the limit is from; the outcome follows. Else: in order, or not, or not looked at and why."
TYPED = "I type every limit"


def receive_item(page: Page, asset_no: str) -> None:
    """Ask what it was ordered as and every point, then put it in service or hold it."""
    app = page.refstd

    def begin(found: tuple[ReceiptSheet, tuple[ProcedureShown, ...]]) -> None:
        sheet, stated = found
        if sheet.item.kind != "probe" or not stated:
            form(sheet)
            return
        shown = [f"{p.name}: {p.title}" for p in stated] + [TYPED]
        question = "Which procedure states the limit on the signal to noise?"
        app.push_screen(Choose(question, [*(p.code for p in stated), TYPED], shown), chosen)

    def chosen(procedure: str | None) -> None:
        if procedure is not None:
            code = "" if procedure == TYPED else procedure
            page.ask(lambda: receipt_sheet(app.lab, asset_no, app.when(), procedure=code), form)

    def form(sheet: ReceiptSheet) -> None:
        def to_points(draft: ReceiptDraft) -> None:
            app.push_screen(
                PointsGrid(
                    sheet.points, f"Receipt of {asset_no}",
                    lambda points, op: receive(app.lab, draft, points, by=app.by, now=app.now(), operation=op), done,
                )
            )  # fmt: skip

        given = {"asset_no": asset_no, "ordered_as": sheet.item.part_no and f"part number {sheet.item.part_no}"}
        app.push_screen(
            HeadForm(
                f"Receipt of {asset_no} {sheet.item.name}", ReceiptDraft, to_points, given=given, leave_out=("asset_no",),
                note="As ordered, it is in service by this inspection; else a finding holds it.",
            )
        )  # fmt: skip

    def done(shown: ReceiptShown) -> None:
        page.tell(shown.headline())
        page.load()

    def asked() -> tuple[ReceiptSheet, tuple[ProcedureShown, ...]]:
        return receipt_sheet(app.lab, asset_no, app.when()), tuple(
            p
            for p in procedures(app.lab, app.when())
            if any(x.quantity == "signal to noise" and x.against == "none" for x in p.limits)
        )

    page.ask(asked, begin)


class PointsGrid(GridScreen[PointDraft]):
    """One row a point, each answered; what is on record stands in it already."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (F2, F6, BACK, HELP)

    def __init__(self, points: Sequence[PointAsked], title: str, keep: Any, then: Any) -> None:
        first_unit = {p.point.name: {"unit": p.point.units[0]} if p.point.measured else {} for p in points}
        rows = [{"point": p.point.name, **first_unit[p.point.name], **p.begin_from} for p in points]
        super().__init__(title, PointDraft, _COLUMNS, rows, keep, then, decides="outcome", row_name="point", note=NOTE)
        self.asked = tuple(points)

    def used_rows(self) -> list[GridRow]:
        """Every point is answered, so every row counts."""
        return list(self.query(GridRow))

    async def _add_row(self) -> None:
        """There are as many points as there are; behind the last one it is put on record."""
        self.query_one(KeepButton).focus()

    def says_of(self, row: GridRow, entry: Widget) -> str:
        """Say what is asked at the point, and what belongs into the field."""
        point = self.asked[row.number - 1].point
        how = f"measured in {' or '.join(point.units)}" if point.measured else "looked at"
        needed = "; it may not be left out" if point.needed else ""
        field = super().says_of(row, entry).split("\n")
        return "\n".join((f"{point.name}: {point.asks} ({how}{needed})", *(field[1:] or field)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return False if action == "add_row" else super().check_action(action, parameters)


_POINTS = (
    Col("point", 20),
    Col("outcome", 14),
    Col("value", 12, right=True),
    Col("limit", 18),
    Col("limit from, found"),
)
_TONES = {"not in order": "bad", "not looked at": "quiet"}


class ReceiptPage(SectionsPage):
    """A receipt inspection on record, by the number of the evidence that it filed."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f", "finding", "Finding", "Open the finding that holds the item."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, asset_no: str, number: str) -> None:
        super().__init__()
        self.asset_no, self.number = asset_no, number
        self.found: ReceiptShown | None = None

    def load(self) -> None:
        lab, when, asset_no = self.refstd.lab, self.refstd.when(), self.asset_no
        self.ask(lambda: item_record(lab, asset_no, when), self.show_receipt)

    def show_receipt(self, record: ItemRecord) -> None:
        """Show the receipt inspection that was read."""
        r = self.found = next(x for x in record.receipts if x.certificate == self.number)
        rows = tuple(
            Row(
                (p.asked, p.outcome, "—" if p.value is None else with_unit(plain(p.value), p.unit), p.limits or "—",
                 "; ".join(x for x in (p.limit_source, p.found) if x)),
                None, p.in_words(), _TONES.get(p.outcome, ""),
            )
            for p in r.points
        )  # fmt: skip
        facts = fact_lines(
            ("ordered as", r.ordered_as), ("evidence filed", r.certificate), ("response check", r.check), ("finding", r.finding),
            ("note", r.note), ("looked at", f"{self.local(r.happened_at)} by {r.person}"), ("log entry", r.entry),
        )  # fmt: skip
        self.show(
            f"Receipt {r.certificate} of {r.asset_no}", f"{self.local(r.happened_at)} by {r.person}",
            (Section("points", _POINTS, rows, "no point"), Section("rests on", text=facts)), r.headline(),
        )  # fmt: skip

    def action_finding(self) -> None:
        if self.found and self.found.finding:
            self.open_record("finding", self.found.finding)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "finding" and not (self.found and self.found.finding):
            return False
        return super().check_action(action, parameters)
