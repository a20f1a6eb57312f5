"""What was decided and why, in the desk's own words: the outcome as a word with a sign, then the reasons."""

from collections.abc import Iterable
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.widgets import Static

from refstd.base.reason import Reason, Weight
from refstd.base.text import safe
from refstd.desk.checks import CheckVerdict
from refstd.desk.serviceability import CAUTION, Verdict

SIGNS = {
    "acceptable": "✓", "not acceptable": "✗", "not conclusive": "?",
    "serviceable": "✓", "limited use": "!", "do not use": "✗",
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


def item_line(asset_no: str, name: str, verdict: Verdict) -> Text:
    """Return an item with the headline of its verdict, word for word."""
    return Text(f"{sign_of(verdict.standing)} {safe(asset_no):<12} {safe(name):<18.18} {safe(verdict.headline())}")


class VerdictPanel(Vertical):
    """A verdict on a screen: bar with sign and word, text that scrolls, the caution. `k` unfolds the limits kept."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("k", "kept", "Kept limits", id="kept", tooltip="Show or fold the limits that were kept.")
    ]

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.unfolded = False
        self._says: list[Text] = []
        self._kept: list[Reason] = []

    def compose(self) -> ComposeResult:
        yield Static("", classes="bar", markup=False)
        with VerticalScroll():
            yield Static("", classes="says", markup=False)
        yield Static(CAUTION, classes="caution", markup=False)

    def show_check(self, verdict: CheckVerdict) -> None:
        """Show what a response check says."""
        job = f", job {verdict.job}" if verdict.job else ""
        self._bar(verdict.outcome, f"{verdict.occasion} check {verdict.number} on setup {verdict.setup}{job}")
        self._says, self._kept = check_text(verdict)
        self._redraw()

    def show_standing(self, verdict: Verdict) -> None:
        """Show whether an item or a kit may be relied on."""
        self._bar(verdict.standing, verdict.subject)
        against = [r for r in by_weight(verdict.reasons) if r.weight is not Weight.SUPPORTS]
        self._says = [Text(safe(verdict.headline()), style="bold"), *map(reason_line, against)]
        self._kept = [r for r in verdict.reasons if r.weight is Weight.SUPPORTS]
        self._redraw()

    def action_kept(self) -> None:
        self.unfolded = not self.unfolded
        self._redraw()

    def _bar(self, word: str, about: str) -> None:
        bar = self.query_one(".bar", Static)
        sign = sign_of(word)
        bar.set_classes(["bar", _KINDS.get(sign, "")])
        bar.update(Text(f" {sign} {word.upper()}   {safe(about)} ", no_wrap=True, overflow="ellipsis"))

    def _redraw(self) -> None:
        lines = list(self._says)
        if self._kept:
            count = f"{len(self._kept)} limits and comparisons" if len(self._kept) > 1 else "1 limit"
            lines.append(
                Text(f"{'▾' if self.unfolded else '▸'} {count} kept (k {'folds' if self.unfolded else 'shows'})")
            )
            if self.unfolded:
                lines += [reason_line(r) for r in self._kept]
        self.query_one(".says", Static).update(Text("\n").join(lines))


def check_text(verdict: CheckVerdict) -> tuple[list[Text], list[Reason]]:
    """Return what a check says, line by line in the order of need, and the limits it kept.

    First what decides, then what to do, what is held and whom to tell; then the other reasons and the condition of the
    equipment, which does not decide.
    """
    ordered = by_weight(verdict.reasons)
    deciding = [r for r in ordered if r.weight in (Weight.STOPS, Weight.UNDECIDED)]
    advice = [r for r in ordered if r.weight in (Weight.LIMITS, Weight.ADVISES)]
    lines = [Text(safe(verdict.headline()), style="bold")]
    lines += [reason_line(r) for r in deciding[:1]]
    if verdict.covers:
        lines.append(_pair("Covers", verdict.covers))
    lines += [_pair("Do now" if not n else "", step) for n, step in enumerate(verdict.do)]
    if verdict.held:
        lines.append(_pair("Held", f"{', '.join(verdict.held)} (finding {verdict.finding})"))
    if verdict.tell:
        lines.append(_pair("Tell", verdict.tell))
    if verdict.repeats:
        lines.append(_pair("Repeat", f"of check {verdict.repeats}; both sets are kept"))
    if deciding[1:]:
        lines.append(
            Text(f"And {len(deciding) - 1} more against it:" if len(deciding) > 2 else "And 1 more against it:")
        )
        lines += [reason_line(r) for r in deciding[1:]]
    lines += [reason_line(r) for r in advice]
    hints = [r for r in verdict.condition if r.rule == "pattern"]
    aged = [r for r in by_weight(verdict.condition) if r.weight is Weight.ADVISES and r not in hints]
    if hints or aged:
        lines.append(Text("Condition of the equipment against its baseline (does not decide this check):"))
        lines += [reason_line(r) for r in (*hints, *aged)]
    kept = [r for r in (*ordered, *verdict.condition) if r.weight is Weight.SUPPORTS]
    return lines, kept


def _pair(name: str, says: str) -> Text:
    return Text.assemble((f"{name:<7}", "bold"), safe(says))
