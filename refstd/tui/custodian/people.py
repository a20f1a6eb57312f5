"""People and authorities: who works here, in which role, with which authorities in force today."""

from typing import ClassVar

from refstd.desk.people import GrantDraft, PersonDraft, PersonShown, enter_person, grant, people, revise_person
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen
from refstd.tui.grid import HeadForm
from refstd.tui.pages import ListPage
from refstd.tui.people import ATTRIBUTION
from refstd.tui.widgets.rows import Col, Row


class PeoplePage(ListPage):
    """Everybody on record, with role and authorities in force."""

    HEADING = "People and authorities"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("code", 10),
        Col("name", 26),
        Col("role", 12),
        Col("here", 5),
        Col("authorities in force"),
    )
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "enter_person", "New person", "Put a person on record (custodian)."),
        Command("g", "give_authority", "Grant", "Give an authority to the person under the cursor, from a day to a day."),
        Command("e", "describe_person", "Describe", "Change role or name, or record that the person left; with the reason."),
        BACK,
        *EVERYWHERE,
    )  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, PersonShown] = {}

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: people(lab, when), self.show_people)

    def show_people(self, found: tuple[PersonShown, ...]) -> None:
        """Show the people who were read."""
        self.found = {p.code: p for p in found}
        self.fill(
            [
                Row(
                    (p.code, p.name, p.role, "yes" if p.active else "left", ", ".join(p.authorities) or "none"),
                    ("person", p.code), f"{p.code} {p.name}\n{ATTRIBUTION}", "" if p.active else "quiet",
                )
                for p in found
            ]
        )  # fmt: skip

    def action_enter_person(self) -> None:
        if self.may_record():
            app = self.refstd
            self.app.push_screen(
                FormScreen(
                    "Enter a person", PersonDraft,
                    lambda d, _, op: enter_person(app.lab, d, by=app.by, now=app.now(), operation=op),
                    lambda _: self._recorded("person entered"),
                )
            )  # fmt: skip

    def action_give_authority(self) -> None:
        if self.row is not None and self.row.opens and self.may_record():
            app, code = self.refstd, self.row.opens[1]
            today = app.now().astimezone(app.zone).date().isoformat()
            self.app.push_screen(
                FormScreen(
                    f"Give an authority to {code}", GrantDraft,
                    lambda d, _, op: grant(app.lab, d, by=app.by, now=app.now(), operation=op),
                    lambda _: self._recorded(f"authority granted to {code}"),
                    given={"person": code, "granted_on": today}, leave_out=("person",),
                    note="To end an authority early, grant it again with the last day as its expiry.",
                )
            )  # fmt: skip

    def action_describe_person(self) -> None:
        if self.row is None or not self.row.opens or not self.may_record():
            return
        app, person = self.refstd, self.found[self.row.opens[1]]
        given = {
            "code": person.code,
            "name": person.name,
            "role": person.role,
            "active": "yes" if person.active else "no",
        }

        def onward(draft: PersonDraft) -> None:
            form = app.screen
            assert isinstance(form, HeadForm)

            def given_why(why: str | None) -> None:
                if why is not None and why.strip():
                    form.act(
                        lambda op: revise_person(app.lab, draft, why.strip(), by=app.by, now=app.now(), operation=op),
                        lambda _: done(),
                    )

            app.push_screen(AskLine(f"Why is {person.code} described anew?"), given_why)

        def done() -> None:
            app.pop_screen()
            self._recorded(f"{person.code} described anew")

        self.app.push_screen(
            HeadForm(f"Describe {person.code} anew", PersonDraft, onward, given=given, leave_out=("code",))
        )

    def _recorded(self, says: str) -> None:
        self.tell(says)
        self.load()
