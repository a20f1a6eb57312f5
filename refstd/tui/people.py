"""Who works here now: every record carries the person's name."""

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from refstd.base.text import safe
from refstd.desk.people import PersonShown, people
from refstd.tui.commands import EVERYWHERE, QUIT, Command
from refstd.tui.screens import LabScreen
from refstd.tui.widgets.footer import KeyFooter
from refstd.tui.widgets.menu import Entry, Menu

ATTRIBUTION = (
    "Choosing a person is attribution, not protection: whoever can open this file can choose any name. "
    "What is recorded from now on carries the name chosen here."
)


class WhoScreen(LabScreen):
    """Choose who works here."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("enter", "choose", "Choose", "Work under the name that is highlighted; a digit chooses at once."),
        QUIT,
        *EVERYWHERE,
    )

    def compose(self) -> ComposeResult:
        yield Static("Who works here?", classes="title", markup=False)
        yield Static(ATTRIBUTION, classes="note", markup=False)
        yield Menu(id="people")
        yield KeyFooter()

    def load(self) -> None:
        self.ask(lambda: people(self.refstd.lab, self.refstd.when()), self.show_people)

    def show_people(self, found: tuple[PersonShown, ...]) -> None:
        self.found = {p.code: p for p in found if p.active}
        menu = self.query_one(Menu)
        menu.show([Entry(p.code, _person(p)) for p in self.found.values()], menu.chosen)
        menu.focus()

    @on(Menu.OptionSelected)
    def act_as(self, chosen: Menu.OptionSelected) -> None:
        self.refstd.act_as(self.found[chosen.option.id or ""])

    def action_choose(self) -> None:
        self.query_one(Menu).action_select()

    def action_back(self) -> None:
        if self.refstd.person is not None:
            super().action_back()


def _person(person: PersonShown) -> Text:
    """Return a person in one line: code, name, role and authorities in force."""
    held = ", ".join(person.authorities)
    return Text(f"{safe(person.code):<10} {safe(person.name):<28} {person.role}{f' · {held}' if held else ''}")
