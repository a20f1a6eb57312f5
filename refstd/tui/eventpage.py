"""An event of an item: what happened, who recorded it and when, what each record of it caused; to correct or withdraw it."""

from typing import ClassVar

from refstd.desk.event_record import EventRecord, EventVersion, event_record
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.record_sections import FINDING_COLUMNS, finding_rows
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row


class EventPage(SectionsPage):
    """An event with what it caused; a correction supersedes it, and a withdrawal says that it did not happen."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("y", "correct", "Correct", "Say what happened instead, with the reason; the first record stays.", act="record an event"),
        Command("z", "withdraw", "Withdraw", "Say that it did not happen, with the reason; it stays on record.", act="record an event"),
        Command("i", "item", "Item", "Open the record of the item."),
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def __init__(self, number: str) -> None:
        """Take the event's reference and its item's asset number, with a blank between."""
        super().__init__()
        self.ref, self.asset_no = number.split(" ", 1)
        self.found: EventRecord | None = None

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: event_record(lab, self.asset_no, self.ref, when), self.show_event)

    def show_event(self, found: EventRecord) -> None:
        """Show the event that was read."""
        self.found = found
        e = found.newest
        facts = fact_lines(
            ("item", found.asset_no), ("what happened", e.event), ("tape", e.tape),
            ("thickness of the tape", f"{e.thickness} mm" if e.thickness else ""), ("happened", self.local(e.happened_at)),
            ("recorded", f"{self.local(e.recorded_at)} by {e.person}, log entry {e.ref}"), ("note", e.note),
            ("the record", "breaks there: before and after are not compared" if found.breaks and found.counts else ""),
            ("reason", e.why),
        )  # fmt: skip
        if found.breaks and found.counts:
            facts += f"\nOnly somebody other than {e.person} can correct or withdraw it."
        self.show(
            f"Event {self.ref} of {found.asset_no}",
            found.headline(),
            (
                Section("event", text=facts),
                Section("caused", text="\n\n".join(self._caused(v) for v in found.versions)),
                Section("findings", FINDING_COLUMNS, finding_rows(found.findings, self.local), "it opened no finding"),
                Section("records", _RECORDS, tuple(self._record(v) for v in found.versions), ""),
            ),
        )

    def _caused(self, v: EventVersion) -> str:
        lines = "\n".join(f"- {line}" for line in v.caused.in_words())
        return f"Log entry {v.ref}, {self.local(v.recorded_at)}, {v.does} {v.says}:\n{lines}"

    def _record(self, v: EventVersion) -> Row:
        why = f": {v.why}" if v.why else ""
        about = (
            f"log entry {v.ref} {v.does} {v.says}{why}\nhappened {self.local(v.happened_at)}, recorded by {v.person}"
        )
        return Row((self.local(v.recorded_at), v.ref, v.does, v.person, f"{v.says}{why}"), None, about)

    def action_item(self) -> None:
        self.open_record("item", self.asset_no)

    def action_correct(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.happening import correct_on

            correct_on(self, self.asset_no, self.found.newest, self.load)

    def action_withdraw(self) -> None:
        if self.found and self.may_record():
            from refstd.tui.happening import withdraw_on

            withdraw_on(self, self.asset_no, self.found.newest, self.load)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action in ("correct", "withdraw") and not (self.found and self.found.counts):
            return False
        return super().check_action(action, parameters)


_RECORDS = (Col("recorded", 16), Col("entry", 8), Col("does", 9), Col("by", 8), Col("what and why"))
