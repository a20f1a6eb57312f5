"""Items that are out go on with another person: whom, in which condition; then it is on record."""

from collections.abc import Callable, Sequence

from refstd.desk.custody import hand_over, receivers
from refstd.desk.people import PersonShown
from refstd.tui.asking import AskLine, Choose
from refstd.tui.pages import Page


def hand_over_to(page: Page, asset_nos: Sequence[str], then: Callable[[], None]) -> None:
    """Ask who has these items from now on, and put it on record; nothing is asked where no item is out."""
    if not asset_nos:
        page.notify("m matches a kit and checks it out.", title="Nothing is out", severity="warning", markup=False)
        return
    app = page.refstd

    def ask(people: tuple[PersonShown, ...]) -> None:
        question = f"Hand {', '.join(asset_nos)} over to whom, for the same job?"
        app.push_screen(Choose(question, [p.code for p in people], [f"{p.code} {p.name}" for p in people]), chosen)

    def chosen(to: str | None) -> None:
        if to:
            asked = f"{', '.join(asset_nos)} to {to}. In which condition?"
            app.push_screen(AskLine(asked, "as handed out"), lambda condition: given(to, condition))

    def given(to: str, condition: str | None) -> None:
        if condition is not None:
            page.act(
                lambda operation: hand_over(
                    app.lab, asset_nos, to, condition=condition, by=app.by, now=app.now(), operation=operation
                ),
                lambda _: told(to),
            )

    def told(to: str) -> None:
        page.notify(f"{', '.join(asset_nos)} with {to} now.", title="Handed over", markup=False)
        then()

    lab, when = app.lab, app.when()
    page.ask(lambda: receivers(lab, asset_nos, when), ask)
