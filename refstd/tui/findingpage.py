"""A finding: what is wrong, what it holds, what was done about it; note, decide and release."""

from typing import ClassVar, Literal

from refstd.desk.findings import FindingShown, act_on, finding
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row

Act = Literal["note", "disposition", "release"]
_ASKED: dict[Act, str] = {
    "note": "Note on {}: what was found?",
    "disposition": "Disposition of {}: what was decided, and for which lots?",
    "release": "Release of {}: why may what it holds go on?",
}
_DONE: dict[Act, str] = {"note": "noted", "disposition": "decided", "release": "released"}


class FindingPage(SectionsPage):
    """A finding with what it holds and what was done; those with the authority decide and release."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "note", "Note", "Note what was found."),
        Command("d", "decide", "Decide", "Record the disposition; needs an authority, never on one's own check."),
        Command("r", "release", "Release", "End the hold; needs an authority, and lots need a disposition first."),
        Command("y", "check", "Check", "Open the check that it rests on."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.finding: FindingShown | None = None

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: finding(lab, number, when), self.show_finding)

    def show_finding(self, found: FindingShown) -> None:
        """Show the finding that was read."""
        self.finding = found
        state = "RELEASED" if found.released else "OPEN"
        held = [
            *(Row(("item", a, ""), ("item", a)) for a in found.items),
            *(Row(("setup", s, ""), ("setup", s)) for s in found.held_setups),
            *(Row(("setup", s, f"freed for new work by {by}"), ("setup", s)) for s, by in found.freed),
            *(
                Row(
                    ("lot", x.number, f"{x.examined} (job {x.job})"), ("job", x.job),
                    f"lot {x.number}: {x.examined}\njob {x.job}, start check {x.start_check}, examined {self.local(x.happened_at)} by {x.person}",
                )
                for x in found.lots
            ),
        ]  # fmt: skip
        done = [
            Row(
                (self.local(a.happened_at), a.kind, a.person, a.says), None,
                f"{a.kind} by {a.person}" + (f" ({a.authority})" if a.authority else "") + f": {a.says}",
            )
            for a in found.actions
        ]  # fmt: skip
        facts = fact_lines(
            ("cause", found.cause), ("says", found.says), ("opened", f"{self.local(found.happened_at)} by {found.person}"),
            ("rests on check", found.check), ("holds", found.holds_and_freed()), ("state", state.lower()),
        )  # fmt: skip
        self.show(
            f"Finding {found.number}",
            f"{state}: {found.says}",
            (
                Section("finding", text=facts),
                Section("holds", (Col("what", 6), Col("number", 12), Col("parts")), tuple(held), "holds nothing"),
                Section(
                    "done", (Col("when", 16), Col("what", 12), Col("by", 10), Col("says")), tuple(done), "nothing yet"
                ),
            ),
        )

    def action_note(self) -> None:
        self._act("note")

    def action_decide(self) -> None:
        self._act("disposition")

    def action_release(self) -> None:
        self._act("release")

    def action_check(self) -> None:
        if self.finding and self.finding.check:
            self.open_record("check", self.finding.check)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "check" and not (self.finding and self.finding.check):
            return False
        return super().check_action(action, parameters)

    def _act(self, kind: Act) -> None:
        if not self.may_record():
            return
        from refstd.tui.asking import AskLine

        def given(says: str | None) -> None:
            if says is None:
                return
            app, number = self.refstd, self.number
            self.act(
                lambda op: act_on(app.lab, number, kind, says, by=app.by, now=app.now(), operation=op),
                lambda _: self._recorded(kind),
            )

        self.app.push_screen(AskLine(_ASKED[kind].format(self.number)), given)

    def _recorded(self, kind: Act) -> None:
        self.tell(f"finding {self.number} {_DONE[kind]}")
        self.load()
