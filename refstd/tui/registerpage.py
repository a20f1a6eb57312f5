"""The register of one kind: every item with its state and its verdict, word for word; filter as you type."""

from dataclasses import replace
from typing import ClassVar

from refstd.desk.serviceability import Status, register_status
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.labelfile import LABELS, write_labels
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row, Rows
from refstd.tui.widgets.verdict import sign_of

TITLES = {"block": "Reference blocks", "probe": "Probes", "instrument": "Instruments", "accessory": "Accessories"}
TONES = {"do not use": "bad", "limited use": "warn"}


class RegisterPage(ListPage):
    """The items of one kind. Tab and type to filter by number, name, state or verdict; Enter opens the record."""

    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("number", 10), Col("name", 14), Col("state", 12), Col("verdict"))
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "enter_item", "New", "Enter a new item of this kind (custodian)."),
        replace(LABELS, help="Write labels to print for the items shown: filter first."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, kind: str) -> None:
        super().__init__()
        self.kind = kind

    def on_mount(self) -> None:
        self.head(TITLES[self.kind])

    def load(self) -> None:
        lab, when, kind = self.refstd.lab, self.refstd.when(), self.kind
        self.ask(lambda: register_status(lab, when, kind), self.show_items)

    def show_items(self, found: tuple[Status, ...]) -> None:
        """Show the items that were read."""
        self.head(f"{TITLES[self.kind]} ({len(found)})")
        self.fill([_row(s) for s in found])

    def action_labels(self) -> None:
        shown = [row.opens[1] for row in self.query_one(Rows).shown if row.opens]
        if shown:
            write_labels(self, shown)

    def action_enter_item(self) -> None:
        if self.may_record():
            from refstd.tui.entering import enter_kind

            enter_kind(self, self.kind)


def _row(s: Status) -> Row:
    item, headline = s.item, s.verdict.headline()
    place = f", {item.location}" if item.location else ""
    out = f", out to {item.loan.holder} for {item.loan.job}" if item.loan else ""
    about = f"{item.asset_no} {item.name}, {item.form} {item.kind}; {item.state}{place}{out}\n{headline}"
    return Row(
        (item.asset_no, item.name, "out" if item.loan and item.state == "in service" else item.state, f"{sign_of(s.verdict.standing)} {headline}"),
        ("item", item.asset_no), about, TONES.get(s.verdict.standing, ""),
    )  # fmt: skip
