"""The records as at a past instant: asked for once, then every question is asked as at then, and every act is refused."""

from refstd.base.errors import Refusal
from refstd.desk.entry import instant_from_words
from refstd.desk.store import When, about
from refstd.tui.asking import AskLine
from refstd.tui.pages import Page

QUESTION = """Show the records as at which instant?
YYYY-MM-DD (its last moment) or YYYY-MM-DDTHH:MM, in the lab's time zone.
Leave it empty for now."""


def ask_instant(page: Page) -> None:
    """Ask for the instant and show the page anew as at then."""
    app = page.refstd
    given = app.as_at.astimezone(app.zone).isoformat(timespec="minutes")[:16] if app.as_at else ""

    def answered(text: str | None) -> None:
        if text is None:
            return
        try:
            instant = instant_from_words(text, app.zone) if text.strip() else None
            if instant is not None:
                if instant > app.now():
                    raise Refusal(
                        "that instant lies in the future", text, "Give a past one, or leave it empty for now."
                    )
                about(app.lab, When(app.now(), as_at=instant))
        except Refusal as refusal:
            page.refused(refusal)
            return
        app.as_at = instant
        app.go_home()

    app.push_screen(AskLine(QUESTION, given), answered)
