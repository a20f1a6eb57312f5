"""The check-in desk: what is out, and taking it back with its condition."""

from typing import ClassVar

from refstd.desk.custody import Out, check_in, out_now
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.counting import Counts, count_in
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row, Rows


class CheckInPage(ListPage):
    """What is out. Space marks several; g takes them back as sound, u as not sound, which holds them by a finding."""

    HEADING = "Check in"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("item", 9), Col("name"), Col("holder", 8), Col("job", 9), Col("out since", 16), Col("due back", 15),
    )  # fmt: skip
    EMPTY = "nothing is out"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("space", "mark", "Mark", "Mark the item under the cursor, or take the mark away."),
        Command("g", "take_back(True)", "Back, sound", "Take back what is marked, or the item under the cursor, as sound."),
        Command("u", "take_back(False)", "Back, not sound", "Take it back as not sound: a finding holds it."),
        Command("o", "hand_over", "Hand over", "Hand what is marked, or the item under the cursor, to another person."),
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: out_now(lab, when), self.show_out)

    def show_out(self, found: tuple[Out, ...]) -> None:
        """Show what is out; late first."""
        self.head(f"Check in ({len(found)} out)")
        self.fill(
            [
                Row(
                    (o.asset_no, o.name, o.loan.holder, o.loan.job, self.local(o.loan.since), f"{o.loan.due_back_on}{' late' if o.late else ''}"),
                    ("item", o.asset_no), f"{o.asset_no} {o.name}: went out {o.loan.condition}", "warn" if o.late else "",
                )
                for o in sorted(found, key=lambda o: (not o.late, o.asset_no))
            ]
        )  # fmt: skip

    def action_mark(self) -> None:
        self.query_one(Rows).toggle_mark()

    def _numbers(self) -> list[str]:
        """Return what is marked, or the item under the cursor."""
        rows = self.query_one(Rows)
        here = {rows.row.opens[1]} if rows.row and rows.row.opens else set()
        return sorted({number for _, number in rows.marked} or here)

    def action_hand_over(self) -> None:
        from refstd.tui.handing import hand_over_to

        numbers = self._numbers()
        if numbers and self.may_record():
            hand_over_to(self, numbers, self.load)

    def action_take_back(self, sound: bool) -> None:
        numbers = self._numbers()
        if not numbers or not self.may_record():
            return
        app = self.refstd

        def given(condition: str | None) -> None:
            if condition is None:
                return

            def counted(counts: Counts, part: str, area: str) -> None:
                self.act(
                    lambda op: check_in(
                        app.lab, numbers, sound=sound, condition=condition, counted=counts, part=part, area=area,
                        by=app.by, now=app.now(), operation=op,
                    ),
                    lambda found: self._taken_back(numbers, found),
                )  # fmt: skip

            count_in(self, numbers, counted)

        asked = f"{', '.join(numbers)} came back {'sound' if sound else 'NOT sound'}. In which condition?"
        self.app.push_screen(AskLine(asked, "sound" if sound else ""), given)

    def _taken_back(self, numbers: list[str], findings: tuple[str, ...]) -> None:
        self.query_one(Rows).marked.clear()
        held = f"; held by finding {', '.join(findings)}" if findings else ""
        self.tell(f"{', '.join(numbers)} checked in{held}")
        self.load()
