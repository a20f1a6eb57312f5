"""Something happened to an item: which item of the kit, what, and for a renewed tape which; then it is on record."""

from collections.abc import Callable, Sequence

from refstd.base.text import safe
from refstd.desk.entry import draft_or_refuse
from refstd.desk.events import EventDraft, counted_from, possible_events, record_event
from refstd.tui.asking import Choose
from refstd.tui.forms import FormScreen, Parts
from refstd.tui.pages import Page

TAPE = "tape renewed"
NOTE = "Nothing is examined after it before a new start check."


def something_happened(page: Page, asset_nos: Sequence[str], then: Callable[[], None]) -> None:
    """Ask which of these items something happened to, then what."""
    if not asset_nos:
        page.notify("m matches a kit and checks it out.", title="No kit is in hand", severity="warning", markup=False)
        return

    def chosen(asset_no: str | None) -> None:
        if asset_no:
            event_on(page, asset_no, then)

    page.app.push_screen(Choose(f"Something happened to which item? {NOTE}", asset_nos), chosen)


def event_on(page: Page, asset_no: str, then: Callable[[], None]) -> None:
    """Ask what happened to an item, and put it on record at once; a renewed tape is named first."""
    lab, when = page.refstd.lab, page.refstd.when()

    def chosen(what: str | None) -> None:
        if what == TAPE:
            _tape(page, asset_no, then)
        elif what:
            draft = draft_or_refuse(EventDraft, {"asset_no": asset_no, "event": what}, asset_no)
            page.act(lambda operation: _keep(page, draft, operation), lambda found: _told(page, draft, found, then))

    def ask(possible: tuple[str, ...]) -> None:
        page.app.push_screen(Choose(f"What happened to {asset_no}, now? {NOTE}", possible), chosen)

    page.ask(lambda: possible_events(lab, asset_no, when), ask)


def _tape(page: Page, asset_no: str, then: Callable[[], None]) -> None:
    def keep(draft: EventDraft, _parts: Parts, operation: str) -> tuple[EventDraft, tuple[str, ...]]:
        return draft, _keep(page, draft, operation)

    page.app.push_screen(
        FormScreen(
            f"tape renewed on {asset_no}", EventDraft, keep, lambda kept: _told(page, kept[0], kept[1], then),
            given={"asset_no": asset_no, "event": TAPE}, leave_out=("asset_no", "event"),
            note=f"{NOTE} An end check may still close the work before it.",
        )
    )  # fmt: skip


def _keep(page: Page, draft: EventDraft, operation: str) -> tuple[str, ...]:
    app = page.refstd
    return record_event(app.lab, draft, by=app.by, now=app.now(), operation=operation)


def _told(page: Page, draft: EventDraft, found: tuple[str, ...], then: Callable[[], None]) -> None:
    told = [f"{draft.asset_no}: {draft.event}; a new start check is asked for.", counted_from(draft)]
    if found:
        told.append(f"{', '.join(found)} holds the lots that no check covers now.")
    page.tell(safe(" ".join(filter(None, told))))
    then()
