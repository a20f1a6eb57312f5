"""What was decided and why, in the desk's own words: the outcome as a word with a sign, then the reasons."""

from collections.abc import Iterable, Sequence
from typing import ClassVar

from rich.console import Group
from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from refstd.base.reason import Reason, Weight
from refstd.base.text import safe
from refstd.desk.checks import CheckVerdict
from refstd.desk.serviceability import CAUTION, Status, Verdict
from refstd.tui.widgets.hanging import Pair, hanging

SIGNS = {
    "acceptable": "✓", "not acceptable": "✗", "not conclusive": "?",
    "serviceable": "✓", "limited use": "!", "do not use": "✗",
    "pass": "✓", "conditional pass": "!", "conditional fail": "✗", "fail": "✗", "not judged": "?", "agree": "✓", "disagree": "✗",
}  # fmt: skip
_KINDS = {"✓": "-good", "✗": "-bad", "?": "-open", "!": "-open"}
REASON_SIGNS = {Weight.STOPS: "✗", Weight.LIMITS: "!", Weight.UNDECIDED: "?", Weight.ADVISES: "·", Weight.SUPPORTS: "✓"}
_ORDER = list(REASON_SIGNS)


def sign_of(word: str) -> str:
    """Return the sign that stands before an outcome or a standing; colour may follow it, never replace it."""
    return SIGNS.get(word, "·")


def by_weight(reasons: Iterable[Reason]) -> list[Reason]:
    """Return reasons with the most important first; among equals the desk's own order stays."""
    return sorted(reasons, key=lambda r: _ORDER.index(r.weight))


def reason_line(reason: Reason) -> Text:
    """Return a reason word for word, with the sign of its weight before it."""
    style = "bold" if reason.weight in (Weight.STOPS, Weight.UNDECIDED) else ""
    return Text(f"{REASON_SIGNS[reason.weight]} {safe(reason.in_words())}", style=style)


def items_table(items: Sequence[Status], indent: int = 0) -> Table:
    """Return items, one below the other: sign and number, then name and headline of the verdict, word for word."""
    width = max((len(safe(s.item.asset_no)) for s in items), default=0) + 4
    return hanging([_item(s) for s in items], width, indent)


def _item(status: Status) -> Pair:
    verdict = status.verdict
    lead = Text(f"{sign_of(verdict.standing)} {safe(status.item.asset_no)}", style="bold")
    headline = (safe(verdict.headline()), "" if verdict.standing == "serviceable" else "bold")
    return lead, Text.assemble(f"{safe(status.item.name)}: ", headline)


class VerdictPanel(Vertical):
    """A verdict on a screen: bar with sign and word, text that scrolls, the caution. `k` unfolds the limits kept."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("k", "kept", "Kept limits", id="kept", tooltip="Show or fold the limits that were kept.")
    ]

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.unfolded = False
        self._headline = ""
        self._says: list[Pair] = []
        self._kept: list[Reason] = []

    def compose(self) -> ComposeResult:
        yield Static("", classes="bar", markup=False)
        with VerticalScroll():
            yield Static("", classes="says", markup=False)
        yield Static(CAUTION, classes="caution", markup=False)

    def show_check(self, verdict: CheckVerdict, moved: Sequence[Reason] = ()) -> None:
        """Show what a response check says; `moved` is what the evidence over the whole lab says of the setup's items."""
        about = ", ".join(filter(None, (f"{verdict.occasion} check {verdict.number}", verdict.setup, verdict.job)))
        self._bar(verdict.outcome, about)  # short: what does not fit into the bar is cut
        self._headline = verdict.headline()
        self._says, self._kept = check_text(verdict, moved)
        self._redraw()

    def show_standing(self, verdict: Verdict) -> None:
        """Show whether an item or a kit may be relied on."""
        self._bar(verdict.standing, verdict.subject)
        against = [r for r in by_weight(verdict.reasons) if r.weight is not Weight.SUPPORTS]
        self._headline = verdict.headline()
        self._says = _under("Why", map(reason_line, against))
        self._kept = [r for r in verdict.reasons if r.weight is Weight.SUPPORTS]
        self._redraw()

    def action_kept(self) -> None:
        self.unfolded = not self.unfolded
        self._redraw()

    def _bar(self, word: str, about: str) -> None:
        bar = self.query_one(".bar", Static)
        sign = sign_of(word)
        bar.set_classes(f"bar {_KINDS.get(sign, '')}")
        bar.update(Text(f" {sign} {word.upper()}   {safe(about)} ", no_wrap=True, overflow="ellipsis"))

    def _redraw(self) -> None:
        lines = list(self._says)
        if self._kept:
            count = f"{len(self._kept)} limits and comparisons" if len(self._kept) > 1 else "1 limit or comparison"
            folded = Text(
                f"{'▾' if self.unfolded else '▸'} {count} kept (k {'folds' if self.unfolded else 'shows them'})"
            )
            lines += _under("Kept", [folded, *(map(reason_line, self._kept) if self.unfolded else ())])
        headline = Text(safe(self._headline), style="bold")
        self.query_one(".says", Static).update(Group(headline, hanging(lines, 8)))


def check_text(verdict: CheckVerdict, moved: Sequence[Reason] = ()) -> tuple[list[Pair], list[Reason]]:
    """Return what a check says as (word in front, text) in the order of need, and the limits it kept.

    First what decides, then what to do, what is held and whom to tell, which item of the setup the evidence
    names by now (`moved`), and what the pattern of the notches hints at; then the other reasons and the condition of the equipment, which does not decide.
    """
    ordered = by_weight(verdict.reasons)
    deciding = [r for r in ordered if r.weight in (Weight.STOPS, Weight.UNDECIDED)]
    advice = [r for r in ordered if r.weight in (Weight.LIMITS, Weight.ADVISES)]
    lines = _under("Why", map(reason_line, deciding[:1]))
    lines += _under("Covers", [Text(safe(verdict.ended or verdict.covers))] if verdict.covers else [])
    lines += _under("Do now", [Text(safe(step)) for step in verdict.do])
    if verdict.held:
        lines += _under("Held", [Text(safe(f"{', '.join(verdict.held)} (finding {verdict.finding})"))])
    lines += _under("Tell", [Text(safe(verdict.tell))] if verdict.tell else [])
    if verdict.late:
        lines += _under("Late", [Text(safe(f"{verdict.late}; judged as things stood when it was read"))])
    if verdict.repeats:
        lines += _under("Repeat", [Text(safe(f"of check {verdict.repeats} after a remedy; both sets are kept"))])
    lines += _under("Moved", map(reason_line, moved))
    hints = [r for r in verdict.condition if r.rule == "pattern"]
    if hints and moved:
        hints_of_one = Text("A hint from this check alone; the record over many checks says what stands under Moved.")
        lines += _under("Pattern", [hints_of_one, *map(reason_line, hints)])
    else:
        lines += _under("Pattern", map(reason_line, hints))
    lines += _under("And", map(reason_line, (*deciding[1:], *advice)))
    aged = [r for r in by_weight(verdict.condition) if r.weight is Weight.ADVISES and r not in hints]
    if aged:
        about = Text("Against the baseline: condition of the equipment; does not decide this check.")
        lines += _under("Drift", [about, *map(reason_line, aged)])
    kept = [r for r in (*ordered, *verdict.condition) if r.weight is Weight.SUPPORTS]
    return lines, kept


def _under(word: str, texts: Iterable[Text]) -> list[Pair]:
    """Return lines of which the first has the word in front."""
    return [(Text(word if n == 0 else "", style="bold"), text) for n, text in enumerate(texts)]
