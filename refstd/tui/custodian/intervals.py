"""Proposed intervals: of every duty what to look at first; of one item every method, and a person's answer to it."""

from typing import ClassVar

from refstd.desk.entry import draft_or_refuse
from refstd.desk.intervals import CAUTION, DutyIntervals, Proposed, ReviewShown, intervals
from refstd.desk.reviews import ACT, ReviewDraft, review_interval
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.widgets.rows import Col, Row, Rows, heading

WRITE = Command(
    "o", "write", "Write to file", "Write this list as a report: text, CSV, JSON or PDF by the file's ending."
)
_METHODS = (Col("method", 14), Col("proposes", 11), Col("every", 12), Col("due on", 10), Col("because"))
_TONES = {"no interval": "bad", "shorten": "warn", "too little": "quiet"}


class IntervalsPage(ListPage):
    """Every duty with its interval and what its certificates speak for. Enter opens every method of an item."""

    HEADING = "Intervals"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("item", 9), Col("activity", 12), Col("every", 12), Col("proposes", 11), Col("every", 12), Col("because"),
    )  # fmt: skip
    EMPTY = "nothing is owed"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (WRITE, BACK, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: intervals(lab, when), self.show_found)

    def show_found(self, found: tuple[DutyIntervals, ...]) -> None:
        """Show the duties that were read, those with another interval first."""
        waiting = sum(d.first.open for d in found)
        self.head(f"Intervals ({waiting} proposed of {len(found)})")
        rows = sorted(found, key=lambda d: (_urgency(d.first), d.asset_no, d.activity))
        self.fill([_first_row(d) for d in rows])

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "intervals")


class IntervalPage(SectionsPage):
    """What each method says of one item's intervals: data, method, resulting date. Someone with the authority answers."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("y", "take", "Take it", "Take the interval that a method proposes, with the reason: it sets the schedule anew.", act=ACT),
        Command("n", "turn_down", "Turn down", "Turn the interval that a method proposes down, with the reason.", act=ACT),
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def __init__(self, asset_no: str) -> None:
        super().__init__()
        self.asset_no = asset_no
        self.said: tuple[tuple[DutyIntervals, Proposed], ...] = ()

    def load(self) -> None:
        lab, when, asset_no = self.refstd.lab, self.refstd.when(), self.asset_no
        self.ask(lambda: intervals(lab, when, asset_no), self.show_found)

    def show_found(self, found: tuple[DutyIntervals, ...]) -> None:
        """Show what was read: every method in one list, and each in full, a key away."""
        self.said = tuple((d, p) for d in found for p in d.proposals)
        several, rows = len(found) > 1, []
        for d in found:
            rows += [heading(_duty_words(d))] if several else []
            rows += [_method_row(d, p) for p in d.proposals]
        full = [
            Section(f"{d.activity}, {p.proposal.method}" if several else p.proposal.method, text=f"{_duty_words(d)}\n\n{_about(p)}")
            for d, p in self.said
        ]  # fmt: skip
        empty = "it owes nothing, so there is no interval"
        summary = CAUTION if several or not found else f"{_duty_words(found[0])}\n{CAUTION}"
        self.show(f"Intervals of {self.asset_no}", summary, (Section("methods", _METHODS, tuple(rows), empty), *full))

    def open_row(self, row: Row) -> None:
        chosen = self._chosen()
        if chosen is not None:
            self.action_section(self.said.index(chosen) + 2)

    def action_take(self) -> None:
        self._answer("take")

    def action_turn_down(self) -> None:
        self._answer("turn down")

    def _answer(self, answer: str) -> None:
        """Ask for the reason and keep the answer to the proposal under the cursor, as it was shown."""
        chosen = self._chosen()
        if chosen is None or not self.may_record():
            return
        duty, proposed = chosen
        p = proposed.proposal
        shown = p.every.in_words() if p.every else ""
        app = self.refstd

        def given(why: str | None) -> None:
            if why is None:
                return
            draft = {
                "asset_no": self.asset_no, "activity": duty.activity, "method": p.method, "answer": answer, "why": why,
                "proposed": shown,
            }  # fmt: skip
            self.act(
                lambda op: review_interval(app.lab, _draft(draft), by=app.by, now=app.now(), operation=op), self._told
            )

        asks = f"{duty.activity} every {shown or 'as it is'} instead of {duty.every_words} ({p.method})"
        self.app.push_screen(AskLine(f"{'Take' if answer == 'take' else 'Turn down'} {asks}. Why?"), given)

    def _told(self, shown: ReviewShown) -> None:
        self.tell(shown.in_words())
        self.load()

    def _chosen(self) -> tuple[DutyIntervals, Proposed] | None:
        """Return the method that is open, or that under the cursor of the list."""
        if self.at:
            return self.said[self.at - 1]
        row = self.query_one(Rows).row
        if row is None or row.opens is None:
            return None
        return next((d, p) for d, p in self.said if (d.activity, p.proposal.method) == row.opens)


def _draft(values: dict[str, str]) -> ReviewDraft:
    return draft_or_refuse(ReviewDraft, values, f"review of {values['asset_no']}")


def _urgency(p: Proposed) -> int:
    order = ("no interval", "shorten", "lengthen")
    return order.index(p.proposal.outcome) if p.review is None and p.proposal.outcome in order else len(order)


def _duty_words(d: DutyIntervals) -> str:
    due = f", due on {d.due_on}" if d.due_on else ""
    last = f", last done {d.last_done_on}" if d.last_done_on else ", never done"
    return f"{d.activity} every {d.every_words} ({d.source}){last}{due}"


def _every(p: Proposed) -> str:
    return p.proposal.every.in_words() if p.proposal.every else ""


def _about(p: Proposed) -> str:
    """Return all that a method says: why, the data, where the method is from, and the answer."""
    lines = [p.proposal.says, f"method: {p.proposal.source}", *p.proposal.data]
    if p.proposal.due_on is not None:
        lines.insert(1, f"it would be due on {p.proposal.due_on}")
    if p.review is not None:
        lines.insert(0, f"{'taken' if p.review.taken else 'turned down'} by {p.review.person}: {p.review.why}")
    return "\n".join(lines)


def _first_row(d: DutyIntervals) -> Row:
    p = d.first
    return Row(
        (d.asset_no, d.activity, d.every_words, _outcome(p), _every(p), f"{p.proposal.method}: {p.proposal.says}"),
        ("intervals", d.asset_no), f"{d.asset_no} {d.name}: {_duty_words(d)}\n{p.proposal.method}: {_about(p)}", _tone(p),
    )  # fmt: skip


def _method_row(d: DutyIntervals, p: Proposed) -> Row:
    return Row(
        (p.proposal.method, _outcome(p), _every(p), str(p.proposal.due_on or ""), p.proposal.says),
        (d.activity, p.proposal.method), _about(p), _tone(p),
    )  # fmt: skip


def _outcome(p: Proposed) -> str:
    return "turned down" if p.review is not None and not p.review.taken else p.proposal.outcome


def _tone(p: Proposed) -> str:
    return "quiet" if p.review is not None else _TONES.get(p.proposal.outcome, "")
