"""Something happened to an item: which item, what, when; then what it will cause is read, and only then is it kept."""

from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from refstd.base.text import safe
from refstd.desk.caused import Caused, preview_correction, preview_event
from refstd.desk.event_record import EventVersion
from refstd.desk.events import EventDraft, correct_event, counted_from, event_in_words, possible_events, record_event
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.grid import HeadForm
from refstd.tui.pages import Page
from refstd.tui.screens import LabScreen
from refstd.tui.widgets.hanging import hanging

TAPE = "tape renewed"
NOTE = "Nothing is examined after it before a new start check."
BEFORE = "Nothing is on record yet. F2 or y puts it on record; Esc goes back."
STAYS = "What the first record held stays held until it is released."


class CausedScreen(Page):
    """Read what an event will cause, then put it on record or go back. Enter keeps nothing: it is pressed too easily."""

    HEADING = "what this will cause"
    AUTO_FOCUS = "VerticalScroll"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("f2,y", "keep", "Put on record", "Put it on record as it is told here."),
        BACK,
        HELP,
    )

    def __init__(
        self, what: str, told: Caused, keep: Callable[[str], tuple[str, ...]], done: Callable[[tuple[str, ...]], None]
    ) -> None:
        """Take what is to be kept, in words, and what it will cause; `keep` keeps it and `done` gets the findings."""
        super().__init__()
        self.what, self.told, self.keep, self.done = what, told, keep, done

    def body(self) -> ComposeResult:
        yield Static(Text(safe(self.what), style="bold"), classes="lines", markup=False)
        with VerticalScroll():
            lines = [(Text("-"), Text(safe(line))) for line in self.told.in_words()]
            yield Static(hanging(lines, 2), classes="lines", markup=False)
        yield Static(Text(BEFORE), classes="note", markup=False)

    def action_keep(self) -> None:
        def kept(found: tuple[str, ...]) -> None:
            self.close()
            self.done(found)

        self.act(self.keep, kept)


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
    """Ask what happened to an item, when, and for a renewed tape which; show what it will cause; keep it."""

    def chosen(what: str | None) -> None:
        if what:
            form = HeadForm(
                f"{what}: {asset_no}", EventDraft, lambda draft: _consider(form, draft),
                given={"asset_no": asset_no, "event": what}, leave_out=_left_out(what), note=NOTE,
            )  # fmt: skip
            page.app.push_screen(form)

    def _consider(form: LabScreen, draft: EventDraft) -> None:
        app = page.refstd

        def done(found: tuple[str, ...]) -> None:
            form.close()
            says = [
                f"{draft.asset_no}: {draft.event}; a new start check is asked for.",
                counted_from(draft),
                _held(found),
            ]
            page.tell(safe(" ".join(filter(None, says))))
            then()

        form.ask(
            lambda: preview_event(app.lab, draft, by=app.by, now=app.now()),
            lambda told: app.push_screen(
                CausedScreen(
                    _in_words(draft), told,
                    lambda op: record_event(app.lab, draft, by=app.by, now=app.now(), operation=op), done,
                )
            ),
        )  # fmt: skip

    lab, when = page.refstd.lab, page.refstd.when()
    page.ask(
        lambda: possible_events(lab, asset_no, when),
        lambda possible: page.app.push_screen(Choose(f"What happened to {asset_no}? {NOTE}", possible), chosen),
    )


def correct_on(page: Page, asset_no: str, event: EventVersion, then: Callable[[], None]) -> None:
    """Ask what happened instead and what was wrong; show what that will cause; keep the correction."""
    given = {
        "asset_no": asset_no, "tape": event.tape, "note": event.note,
        "tape_thickness_mm": event.thickness, "happened_at": event.happened_at.astimezone(page.refstd.zone).strftime("%Y-%m-%dT%H:%M"),
    }  # fmt: skip

    def chosen(what: str | None) -> None:
        if what:
            own = given if what == TAPE else given | {"tape": "", "tape_thickness_mm": ""}
            form = HeadForm(
                f"{what}: {asset_no}, corrects log entry {event.ref}", EventDraft,
                lambda draft: _ask_why(page, form, asset_no, event, _as_recorded(draft, given), then),
                given=own | {"event": what}, leave_out=_left_out(what), note=STAYS,
            )  # fmt: skip
            page.app.push_screen(form)

    lab, when = page.refstd.lab, page.refstd.when()
    page.ask(
        lambda: possible_events(lab, asset_no, when),
        lambda possible: page.app.push_screen(
            Choose(f"What happened to {asset_no}? Recorded: {event.event}.", possible, chosen=event.event), chosen
        ),
    )


def withdraw_on(page: Page, asset_no: str, event: EventVersion, then: Callable[[], None]) -> None:
    """Ask why the event did not happen; show what that will cause; keep the withdrawal."""
    _ask_why(page, None, asset_no, event, None, then)


def _as_recorded(draft: EventDraft, given: dict[str, str]) -> EventDraft:
    """Leave the instant out where nobody changed it: the form shows it to the minute, the record has it in full."""
    return draft.model_copy(update={"happened_at": ""}) if draft.happened_at == given["happened_at"] else draft


def _ask_why(
    page: Page, form: LabScreen | None, asset_no: str, event: EventVersion, draft: EventDraft | None, then: Callable[[], None]
) -> None:  # fmt: skip
    app, asking = page.refstd, form or page
    says = (
        f"{asset_no}: {event.event} becomes {_in_words(draft)}"
        if draft
        else f"{asset_no}: {event.event} did not happen"
    )

    def done(found: tuple[str, ...]) -> None:
        if form is not None:
            form.close()
        page.tell(safe(f"{says}. {STAYS} {_held(found)}".strip()))
        then()

    def why_given(why: str | None) -> None:
        if why is None:
            return
        asking.ask(
            lambda: preview_correction(app.lab, asset_no, event.ref, draft, why, by=app.by, now=app.now()),
            lambda told: app.push_screen(
                CausedScreen(
                    f"{says}: {why}. {STAYS}", told,
                    lambda op: correct_event(
                        app.lab, asset_no, event.ref, draft, why, by=app.by, now=app.now(), operation=op
                    ),
                    done,
                )
            ),
        )  # fmt: skip

    question = "What was wrong?" if draft else f"Why did '{event.event}' not happen to {asset_no}?"
    app.push_screen(AskLine(question), why_given)


def _left_out(what: str) -> tuple[str, ...]:
    return ("asset_no", "event") if what == TAPE else ("asset_no", "event", "tape", "tape_thickness_mm")


def _in_words(draft: EventDraft) -> str:
    what = event_in_words(draft.event, draft.tape, draft.tape_thickness_mm)
    return f"{draft.asset_no}: {what}, {draft.happened_at or 'now'}"


def _held(found: tuple[str, ...]) -> str:
    return f"{', '.join(found)} holds the lots that no check covers now." if found else ""
