"""The verdict on a check that was just kept: what, why, what to do, what is held, whom to tell; the picture beside it."""

from typing import ClassVar

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll

from refstd.base.reason import Reason
from refstd.desk.checks import CheckVerdict, Picture
from refstd.desk.kept_checks import check_shown
from refstd.desk.suspects import moved_in_setup
from refstd.tui.commands import EVERYWHERE, Command
from refstd.tui.opening import swap_test_from
from refstd.tui.pages import Page
from refstd.tui.pictures import drawing_of
from refstd.tui.widgets.verdict import VerdictPanel


class VerdictScreen(Page):
    """Read the verdict on a response check as it was kept."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("escape", "back", "Done", "Go back to your jobs; the check is on record."),
        Command("p", "picture", "Picture", "Show the picture in place of the words, or the words again."),
        Command("k", "kept", "Kept limits", "Show or fold the limits that were kept, each with its figure."),
        Command("w", "swap", "Swap test", "Find out what moved: exchange one thing at a time, from this check."),
        Command("u", "suspects", "Suspects", "Which item moved: the evidence over the whole lab."),
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number

    def body(self) -> ComposeResult:
        with Horizontal(id="verdict"):
            yield VerdictPanel()
            yield Vertical(classes="picture")

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()

        def read() -> tuple[CheckVerdict, Picture, tuple[Reason, ...]]:
            verdict, picture = check_shown(lab, self.number, when)
            return verdict, picture, moved_in_setup(lab, verdict.setup, when)

        self.ask(read, self.show_check)

    async def show_check(self, found: tuple[CheckVerdict, Picture, tuple[Reason, ...]]) -> None:
        verdict, picture, moved = found
        happened = self.local(verdict.happened_at)
        self.head(f"verdict, {happened}, by {verdict.person}{', ' + verdict.late if verdict.late else ''}")
        self.query_one(VerdictPanel).show_check(verdict, moved)
        self.query_one(VerticalScroll).focus()
        room = self.query_one(".picture", Vertical)
        await room.remove_children()
        await room.mount(drawing_of(picture))

    def action_picture(self) -> None:
        self.toggle_class("-picture")

    def action_suspects(self) -> None:
        self.open_record("page", "suspects")

    def action_swap(self) -> None:
        swap_test_from(self, self.number)

    def action_kept(self) -> None:
        self.query_one(VerdictPanel).action_kept()
