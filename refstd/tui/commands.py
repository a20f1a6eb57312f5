"""Every key of the screens, declared once: footer, help screen and key table are made of these."""

from dataclasses import dataclass

from textual.binding import Binding


@dataclass(frozen=True, slots=True)
class Command:
    """One thing a key does: the action it runs, the footer's word, and a sentence for the help screen."""

    keys: str
    action: str
    title: str
    help: str
    in_footer: bool = True
    first: bool = False  # taken before the field that has the focus
    act: str = ""  # what the person must be allowed to do, else the key is neither shown nor taken

    def binding(self) -> Binding:
        """Return the binding, with an id so that a user's own keys can be set for it."""
        return Binding(
            self.keys,
            self.action,
            self.title,
            show=self.in_footer,
            id=self.action,
            tooltip=self.help,
            priority=self.first,
        )


BACK = Command("escape", "back", "Back", "Go back one step; nothing is lost that was recorded.")
HELP = Command("question_mark,f1", "help", "Help", "Show what the keys of this screen do.")
QUIT = Command("q", "leave", "Quit", "Leave refstd.")
FIND = Command("slash", "find", "Find", "Find an item, job, check or finding by its number, and open it.")
REFRESH = Command("f5", "refresh", "Refresh", "Read the records anew.", in_footer=False)
EVERYWHERE = (HELP, FIND, REFRESH)


def bindings(*commands: Command) -> list[Binding]:
    """Return the bindings of a screen's commands."""
    return [c.binding() for c in commands]
