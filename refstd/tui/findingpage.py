"""A finding: what is wrong, what it holds, what was done about it; note, decide and release."""

from typing import ClassVar, Literal

from refstd.desk.agreement import BothPapers
from refstd.desk.findings import FindingShown, act_on
from refstd.desk.lookback import LookBack, lookback
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row

_PAPERS = (Col("", 14), Col("earlier paper", 20), Col("later paper", 20), Col("|E_n|", 6, right=True), Col("outcome"))
_SIDE = ("laboratory", "method", "place", "temperature", "environment", "traceability")
_ASKS = (Col("to be asked"), Col("on record", 24))
_DOUBT = (Col("when", 16), Col("what", 10), Col("number", 8), Col("says"))
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
        Command("e", "event", "Event", "Open the event that it rests on."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.finding: FindingShown | None = None

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: lookback(lab, number, when), self.show_finding)

    def show_finding(self, back: LookBack) -> None:
        """Show the finding that was read, and what it leaves in doubt."""
        found = self.finding = back.finding
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
            ("rests on check", found.check), ("rests on event", _event(found.event)),
            ("rests on certificate", found.certificate and f"{found.certificate} of {found.asset_no}"),
            ("in doubt", back.period_in_words(self.local)), ("jobs in that time", ", ".join(back.jobs)), ("holds", found.holds_and_freed()), ("state", state.lower()),
        )  # fmt: skip
        self.show(
            f"Finding {found.number}",
            f"{state}: {found.says}",
            (
                Section("finding", text=facts),
                *_papers(found.papers),
                Section("holds", (Col("what", 6), Col("number", 12), Col("parts")), tuple(held), "holds nothing"),
                Section("in doubt", _DOUBT, self._in_doubt(back), "no lot and no check on record in that time"),
                Section(
                    "done", (Col("when", 16), Col("what", 12), Col("by", 10), Col("says")), tuple(done), "nothing yet"
                ),
            ),
        )

    def _in_doubt(self, back: LookBack) -> tuple[Row, ...]:
        """Return the lots in doubt, then the comparisons that rest on the item, then the checks, which are evidence only."""
        held = {x.number for x in back.finding.lots}
        lots = [
            Row(
                (self.local(x.happened_at), "lot", x.number, f"{x.examined} (job {x.job})" + (", held" if x.number in held else "")),
                ("job", x.job), f"lot {x.number}: {x.examined}\njob {x.job}, start check {x.start_check}, by {x.person}",
            )
            for x in back.lots
        ]  # fmt: skip
        compared = [
            Row((self.local(c.happened_at), "comparison", c.number, f"{c.secondary} {c.outcome}"), ("item", c.secondary), c.in_words())
            for c in back.comparisons
        ]  # fmt: skip
        checks = [
            Row(
                (self.local(c.happened_at), "check", c.number, f"{c.occasion}, {c.outcome}" + (f" (job {c.job})" if c.job else "")),
                ("check", c.number), f"{c.in_words()}\nevidence for the decision; it does not shorten the time in doubt",
            )
            for c in back.checks
        ]  # fmt: skip
        return (*lots, *compared, *checks)

    def action_note(self) -> None:
        self._act("note")

    def action_decide(self) -> None:
        self._act("disposition")

    def action_release(self) -> None:
        self._act("release")

    def action_check(self) -> None:
        if self.finding and self.finding.check:
            self.open_record("check", self.finding.check)

    def action_event(self) -> None:
        if self.finding and self.finding.event:
            self.open_record("event", self.finding.event)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "event" and not (self.finding and self.finding.event):
            return False
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


def _papers(both: BothPapers | None) -> tuple[Section, ...]:
    """Return two papers side by side, how each measured and what each says, and the usual causes as questions."""
    if both is None:
        return ()
    sides = [_paper_row("certificate", both, "number"), _paper_row("done on", both, "performed_on")]
    sides += [_paper_row(name, both, "temperature_c" if name == "temperature" else name) for name in _SIDE]
    values = [
        Row(
            (a.what.removeprefix("notch ").removesuffix(", depth"), a.earlier.shortly(), a.later.shortly(), a.figure(), a.outcome),
            None, f"{a.in_words()}\nlimit {both.limit}, {both.source}", "bad" if a.disagrees else "",
        )
        for a in both.rows
    ]  # fmt: skip
    asks = [
        Row((q.asks, q.on_record), None, "\n".join((q.asks, *([f"on record: {q.on_record}"] if q.on_record else ()))))
        for q in both.questions
    ]
    return (
        Section(
            "both papers",
            _PAPERS,
            tuple(r for r in (*sides, *values) if any(r.cells[1:])),
            "nothing that both papers have",
        ),
        Section("usual causes", _ASKS, tuple(asks), "nothing to ask"),
    )


def _paper_row(name: str, both: BothPapers, field: str) -> Row:
    earlier, later = (str(getattr(p, field)) for p in (both.earlier, both.later))
    unit = " °C" if field == "temperature_c" else ""
    cells = tuple(f"{x}{unit}" if x else "" for x in (earlier, later))
    same = "the same" if earlier and earlier == later else ""
    return Row(
        (name, *cells, "", same), None, f"{name}\nearlier: {cells[0] or 'not said'}\nlater: {cells[1] or 'not said'}"
    )


def _event(named: str) -> str:
    ref, _, asset_no = named.partition(" ")
    return f"of {asset_no}, log entry {ref} (e opens it)" if named else ""
