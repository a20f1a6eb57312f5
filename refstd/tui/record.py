"""The record of an item: may it be relied on and why, and everything that is on record about it, each section a key away."""

from collections.abc import Iterable
from typing import ClassVar

from refstd.desk.charts import drift_board
from refstd.desk.duties import DueRow, due_list
from refstd.desk.history import ItemRecord, item_record
from refstd.desk.kept_checks import checks
from refstd.desk.loans import loans
from refstd.desk.store import Lab, When
from refstd.tui import losing
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.labelfile import LABELS, write_labels
from refstd.tui.record_sections import Everything, sections_of
from refstd.tui.sections import SectionsPage
from refstd.tui.suspectwords import key_of
from refstd.tui.widgets.rows import Row, Rows


class RecordPage(SectionsPage):
    """The record of an item, as it stands or stood."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("v", "receive", "Receive", "Do the receipt inspection; as ordered, the item is in service by it (custodian).", act="inspect on receipt"),
        Command("e", "describe", "Describe", "Describe the item anew, with the reason (custodian).", in_footer=False, act="keep the register"),
        Command("s", "state", "State", "Change its state, with the reason: quarantine, repair, retired.", act="quarantine"),
        Command("c", "certificate", "Certificate", "File a certificate with its values (custodian).", act="file a certificate"),
        Command("i", "certificate_file", "Certificate file", "File a certificate that came as a file (custodian).", in_footer=False, act="file a certificate"),
        Command("d", "schedule", "Schedule", "Set what it owes and how often (custodian).", in_footer=False, act="keep schedules"),
        Command("t", "tolerance", "Tolerance", "See and set the limits of its certified values, and the decision rule.", in_footer=False, act="set a tolerance"),
        Command("f", "defer", "Defer", "Defer a due date before it has passed, with an end and a reason (quality).", act="defer a due date"),
        Command("x", "withdraw_deferral", "End deferral", "Withdraw the deferral of a due date, with the reason (quality).", in_footer=False, act="defer a due date"),
        Command("l", "intervals", "Intervals", "Which other interval its certificates speak for, by each method.", in_footer=False),
        Command("r", "order_test", "Order test", "Find by two readings whether it rotates or scales first (custodian).", act="keep the register"),
        Command("p", "compare", "Compare", "Compare this field block with its primary.", act="compare blocks"),
        Command("h", "happened", "Event", "Record what may have changed how it answers: tape, tip, cable, knock, repair.", act="record an event"),
        Command("o", "open_finding", "Finding", "Put something wrong on record; the item is held from then on.", act="open a finding"),
        Command("g", "lost", "Lost", "It is lost: where it was last seen, who was told.", in_footer=False, act="report a loss"),
        Command("n", "found_again", "Found", "It was found: where, in which condition.", act="report a loss"),
        Command("w", "told", "Owner told", "Who was told that it is lost, and how.", act="report a loss"),
        Command("y", "correct", "Correct", "File the certificate under the cursor anew, with the reason.", in_footer=False, act="file a certificate"),
        Command("z", "withdraw", "Withdraw", "Withdraw the certificate under the cursor; it stays on record.", in_footer=False, act="file a certificate"),
        Command("u", "suspects", "Suspects", "What the evidence over the whole lab says of it, or of all items where it is not named.", in_footer=False),
        Command("b", "used", "Where used", "All lots, jobs, checks and certificates that it had a part in, over any days.", in_footer=False),
        LABELS,
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def __init__(self, asset_no: str) -> None:
        super().__init__()
        self.asset_no = asset_no
        self.found: ItemRecord | None = None
        self.found_all: Everything | None = None
        self.owed: tuple[DueRow, ...] = ()

    def load(self) -> None:
        lab, when, asset_no = self.refstd.lab, self.refstd.when(), self.asset_no
        self.ask(lambda: _everything(lab, asset_no, when), self.show_record)

    def show_record(self, found: Everything) -> None:
        """Show the record that was read."""
        self.found, self.owed, self.found_all = found.record, found.due, found
        item = found.record.item
        made = ", ".join(x for x in (f"part {item.part_no}" if item.part_no else "", f"serial {item.serial_no}" if item.serial_no else "") if x)  # fmt: skip
        place = f", {item.location}" if item.location else ""
        out = f", out to {item.loan.holder} for {item.loan.job}" if item.loan else ""
        self.show(
            f"{item.asset_no} {item.name}",
            f"{item.form} {item.kind}".strip() + (f", {made}" if made else "") + f"; {item.state}{place}{out}",
            sections_of(found, self.local, self.refstd.zone),
            found.record.status.verdict.headline(),
        )  # fmt: skip

    def open_row(self, row: Row) -> None:
        if row.opens and row.opens[0] == "certificate":
            if self.found and any(c.certificate == row.opens[1] for c in self.found.comparisons):
                self.open_record("comparison", row.opens[1])  # it filed its own evidence, under its own number
                return
            if self.found and any(r.certificate == row.opens[1] for r in self.found.receipts):
                from refstd.tui.custodian.receipt import ReceiptPage

                self.app.push_screen(ReceiptPage(self.asset_no, row.opens[1]))
                return
            from refstd.tui.certificatepage import CertificatePage

            self.app.push_screen(CertificatePage(self.asset_no, row.opens[1]))
            return
        super().open_row(row)

    def action_suspects(self) -> None:
        drift = self.found_all.drift if self.found_all else None
        named = drift.suspects.about(self.found_all.record.item.asset_no) if drift and self.found_all else ()
        if len(named) == 1:
            self.open_record("suspect", key_of(named[0].candidate))
        else:
            self.open_record("page", "suspects")

    def action_labels(self) -> None:
        write_labels(self, [self.asset_no])

    def action_used(self) -> None:
        self.open_record("used", self.asset_no)

    def action_describe(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.entering import describe_anew

            describe_anew(self, self.found.item)

    def action_state(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.acts import change_state

            change_state(self, self.found.item)

    def action_certificate(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.certificate import file_for

            file_for(self, self.found)

    def action_certificate_file(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.importing import ImportPage

            self.app.push_screen(ImportPage(self.found.item.asset_no))

    def action_schedule(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.acts import schedule_for

            schedule_for(self, self.asset_no, self._under_cursor())

    def action_tolerance(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.tolerance import tolerances_for

            row = self.query_one(Rows).row if self.section == "notches" else None
            tolerances_for(self, self.found, str(row.cells[0]) if row else "")

    def action_defer(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.deferring import defer_for

            defer_for(self, self.asset_no, self._chosen_first(r for r in self.owed if r.due_on))

    def action_withdraw_deferral(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.deferring import withdraw_for

            withdraw_for(self, self.asset_no, self._chosen_first(r for r in self.owed if r.deferred_to))

    def action_intervals(self) -> None:
        self.open_record("intervals", self.asset_no)

    def _chosen_first(self, rows: Iterable[DueRow]) -> tuple[str, ...]:
        """Return the activities of these duties; that under the cursor alone where it is one of them."""
        activities, chosen = tuple(r.activity for r in rows), self._under_cursor()
        return (chosen,) if chosen in activities else activities

    def _under_cursor(self) -> str:
        """Return the activity of the duty under the cursor, '' elsewhere."""
        row = self.query_one(Rows).row if self.section == "due" else None
        return row.opens[1] if row and row.opens else ""

    def action_order_test(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.order import order_test_of

            order_test_of(self, self.found.item)

    def action_compare(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.technician.compare import compare_with_primary

            compare_with_primary(self, self.asset_no)

    def action_receive(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.receipt import receive_item

            receive_item(self, self.asset_no)

    def action_happened(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.happening import event_on

            event_on(self, self.asset_no, self.load)

    def action_open_finding(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.custodian.acts import finding_on

            finding_on(self, self.asset_no)

    def action_lost(self) -> None:
        if self.found and self.may_record():
            losing.lost(self, self.found.item)

    def action_found_again(self) -> None:
        if self.found and self.may_record():
            losing.found(self, self.found.item)

    def action_told(self) -> None:
        if self.found and self.may_record():
            losing.told(self, self.found.item)

    def action_correct(self) -> None:
        row = self.query_one(Rows).row
        if self.found and self.section == "certificates" and row and row.opens and self.may_record():
            from refstd.tui.custodian.certificate import correct_for

            number = row.opens[1]
            if any(c.certificate == number for c in self.found.comparisons):
                self.open_record("comparison", number)  # corrected there, by its scans
                return
            paper = next((c for c in self.found.certificates if c.number == number and c.in_force), None)
            if paper is not None:
                correct_for(self, self.found, paper)

    def action_withdraw(self) -> None:
        row = self.query_one(Rows).row
        if self.section == "certificates" and row and row.opens and self.may_record():
            from refstd.tui.custodian.acts import withdraw

            withdraw(self, self.asset_no, row.opens[1])

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        is_lost = self.found is not None and self.found.item.state == "lost"
        if (action in ("found_again", "told") and not is_lost) or (action == "lost" and is_lost):
            return False
        if action == "order_test" and not (self.found and self.found.item.kind == "instrument"):
            return False
        if action == "defer" and not any(r.due_on for r in self.owed):
            return False
        if action == "withdraw_deferral" and not any(r.deferred_to for r in self.owed):
            return False
        if action == "receive" and not (self.found and self.found.item.state == "awaiting receipt"):
            return False
        if action == "compare" and not (
            self.found
            and self.found.item.special.get("grade") == "secondary"
            and self.found.item.state != "awaiting receipt"
        ):
            return False
        return super().check_action(action, parameters)


def _everything(lab: Lab, asset_no: str, when: When) -> Everything:
    record = item_record(lab, asset_no, when)
    number = record.item.asset_no
    taken = [c for s in record.setups for c in checks(lab, when, setup=s.number)]
    return Everything(
        record,
        tuple(r for r in due_list(lab, when) if r.asset_no == number),
        tuple(x for x in loans(lab, when) if x.asset_no == number),
        tuple(sorted(taken, key=lambda c: (c.happened_at, c.number), reverse=True)),
        drift_board(lab, when, item=number) if record.setups else None,
    )
