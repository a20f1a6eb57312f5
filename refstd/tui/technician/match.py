"""Which kits suit a job, best first, and why the rest does not; Enter checks the highlighted kit out, whole or not at all."""

from collections.abc import Sequence
from typing import ClassVar

from rich.console import Group
from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from refstd.base.errors import Refusal
from refstd.base.reason import Reason, Weight
from refstd.base.text import safe, safe_lines
from refstd.desk.against import Decided, deciders
from refstd.desk.custody import check_out
from refstd.desk.kits import BASIS, METHOD, PROVEN, Match, match
from refstd.desk.people import PersonShown
from refstd.desk.pieces import to_count_out
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.counting import Counts, count_pieces
from refstd.tui.pages import Page
from refstd.tui.screens import told
from refstd.tui.technician.kitsheet import KitPage
from refstd.tui.widgets.hanging import hanging
from refstd.tui.widgets.menu import Entry, Menu
from refstd.tui.widgets.verdict import by_weight, reason_line, sign_of


class MatchScreen(Page):
    """Match a kit to a job and check it out."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "enter", "check_out", "Check out", "Check the highlighted kit out to yourself: all its items, or none."
        ),
        Command(
            "f", "first_rejected", "Why not", "Go down to the items that do not suit the job, with reason and cure."
        ),
        Command(
            "e", "explain", "Explain", "What materials and coil mean for the highlighted kit: calculated, not measured."
        ),
        Command("k", "kit_sheet", "Kit sheet", "The sheet of the highlighted kit: setting up, checks, scan plan."),
        Command(
            "o",
            "against",
            "Against advice",
            "Take items that do not suit the job, where somebody with the authority decides it, with the reason.",
            in_footer=False,
            act="check out",
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, job: str) -> None:
        super().__init__()
        self.job = job
        self.HEADING = f"kits for job {job}"

    def body(self) -> ComposeResult:
        yield Static("", id="refusal", markup=False)
        yield Menu(id="kits", numbered=False)

    def load(self) -> None:
        self.ask(lambda: match(self.refstd.lab, self.job, self.refstd.when()), self.show_match)

    def show_match(self, found: tuple[tuple[Match, ...], tuple[Match, ...]]) -> None:
        kits, rejected = found
        self.kits = {k.subject: k.asset_nos for k in kits}
        self.explained = {k.subject: k.explained for k in kits}
        entries = [
            Entry(
                "",
                Text(
                    "Kits that suit the job, the best of each block first; Enter checks out"
                    if kits
                    else "No kit suits the job"
                ),
            )
        ]
        entries += [Entry(k.subject, _kit(n, k)) for n, k in enumerate(kits, start=1)]
        self.first_rejected = len(entries)
        if rejected:
            entries.append(Entry("", Text("Items that do not suit it, and what would cure that")))
            entries += [Entry(f"not {r.subject}", _rejected(r)) for r in rejected]
        menu = self.query_one(Menu)
        menu.show(entries, menu.chosen)
        menu.focus()

    @on(Menu.OptionSelected)
    def chosen(self) -> None:
        self.action_check_out()

    def action_check_out(self) -> None:
        kit = self.kits.get(self.query_one(Menu).chosen)
        if kit is None:
            self.stands_against("This item does not suit the job; its cure stands below it.")
            return
        self._count_and_take(kit)

    def _count_and_take(self, kit: tuple[str, ...], decided: Decided | None = None) -> None:
        """Count the pieces of these items, then check them out."""
        app = self.refstd
        self.stands_against("")

        def counted(counts: Counts) -> None:
            self.act(
                lambda operation: check_out(
                    app.lab,
                    self.job,
                    kit,
                    counted=counts,
                    against=decided,
                    by=app.by,
                    now=app.now(),
                    operation=operation,
                ),
                lambda stay: self._out(kit, stay),
            )

        when = app.when()
        self.ask(lambda: to_count_out(app.lab, kit, when), lambda pieces: count_pieces(self, pieces, "out", counted))

    def _out(self, kit: tuple[str, ...], stay: tuple[str, ...]) -> None:
        out = ", ".join(n for n in kit if n not in stay)
        bench = f" {', '.join(stay)} stays at the bench, shared." if stay else ""
        says = f"{out} out to {self.refstd.by} for job {self.job}.{bench} Next: k, its sheet; c, the start check."
        self.app.pop_screen()
        self.app.screen.notify(safe(says), title="Checked out", markup=False)

    def action_against(self) -> None:
        """Ask which items, who decides it and why; then they go out as any kit does, or are refused."""
        app = self.refstd
        if not self.may_record():
            return
        chosen = self.query_one(Menu).chosen
        begin = " ".join(self.kits.get(chosen, (chosen.removeprefix("not "),)))

        def items(words: str | None) -> None:
            if words and words.strip():
                when = app.when()
                self.ask(
                    lambda: deciders(app.lab, app.by, when), lambda found: decide(tuple(words.upper().split()), found)
                )

        def decide(kit: tuple[str, ...], found: tuple[PersonShown, ...]) -> None:
            if not found:
                self.stands_against("Nobody else here has the authority to decide it.")
                return
            question = "Who decides that these may go against advice?"
            app.push_screen(
                Choose(question, [p.code for p in found], [f"{p.code} {p.name}" for p in found]),
                lambda by: why(kit, by) if by else None,
            )

        def why(kit: tuple[str, ...], by: str) -> None:
            asked = f"Why does {by} let {', '.join(kit)} go? It stands on each paper after."
            app.push_screen(
                AskLine(asked),
                lambda words: self._count_and_take(kit, Decided(by, words)) if words is not None else None,
            )

        app.push_screen(AskLine("Which items, all of the kit? Asset numbers with blanks between.", begin), items)

    def action_first_rejected(self) -> None:
        menu = self.query_one(Menu)
        if self.first_rejected + 1 < menu.option_count:
            menu.highlighted = self.first_rejected + 1

    def action_kit_sheet(self) -> None:
        kit = self.kits.get(self.query_one(Menu).chosen)
        if kit is not None:
            self.app.push_screen(KitPage(self.job, kit))

    def action_explain(self) -> None:
        kit = self.query_one(Menu).chosen
        if kit in self.explained:
            self.app.push_screen(ExplanationScreen(kit, self.explained[kit]))

    def refused(self, refusal: Refusal) -> None:
        self.acting = False
        self.stands_against(told(refusal))

    def stands_against(self, says: str) -> None:
        """Say at the top what stands against it."""
        shown = self.query_one("#refusal", Static)
        shown.update(Text("\n".join(f"✗ {line}" for line in safe_lines(says).split("\n")) if says else ""))
        shown.set_class(bool(says), "-shown")


class ExplanationScreen(Page):
    """What materials and coil mean for one kit, with method and caution."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def __init__(self, kit: str, explained: Sequence[Reason]) -> None:
        super().__init__()
        self.explained = explained
        self.HEADING = f"explanation of {kit}"

    def body(self) -> ComposeResult:
        with VerticalScroll():
            lines = [
                Text(f"{BASIS[:1].upper()}{BASIS[1:]}. This is advice; the verdict stands without it.", style="bold"),
                Text(),
            ]
            lines += [Text(f"· {safe(r.in_words())}") for r in self.explained]
            yield Static(Text("\n").join([*lines, Text(), *map(Text, METHOD)]), classes="lines", markup=False)


def _kit(place: int, kit: Match) -> Group:
    head = Text(f"{place}. {safe(kit.subject)}", style="bold")
    shown = [r for r in by_weight(kit.reasons) if r.weight is not Weight.SUPPORTS]
    verdict = Text(f"{sign_of(kit.verdict.standing)} {safe(kit.verdict.headline())}")
    proven = [reason_line(r) for r in kit.reasons if r.rule == PROVEN]
    advice = [Text(f"· {safe(r.says)} ({BASIS}; e explains)") for r in kit.explained if r.weight is Weight.ADVISES]
    return Group(head, hanging([(Text(), says) for says in (verdict, *proven, *map(reason_line, shown), *advice)], 3))


def _rejected(item: Match) -> Group:
    head = Text(f"✗ {safe(item.subject)}", style="bold")
    against = [r for r in by_weight(item.reasons) if r.weight is Weight.STOPS]
    return Group(head, hanging(((Text(), reason_line(r)) for r in against), 3))
