"""Deferring a due date and withdrawing a deferral, on the record of an item."""

from collections.abc import Callable, Sequence

from refstd.desk.deferrals import DeferralDraft, DeferralShown, defer, withdraw_deferral
from refstd.tui.asking import AskLine, Choose
from refstd.tui.forms import FormScreen
from refstd.tui.pages import Page

NOTE = (
    "To a later day, before the due date has passed, and not by the person who set the schedule. After its end it is overdue as "
    "ever; new evidence ends it before. A limit by use is not put off by it."
)


def defer_for(page: Page, asset_no: str, activities: Sequence[str]) -> None:
    """Ask which duty, to which day and why."""
    app = page.refstd

    def chosen(activity: str) -> None:
        app.push_screen(
            FormScreen(
                f"Defer the {activity} of {asset_no}", DeferralDraft,
                lambda d, _, op: defer(app.lab, d, by=app.by, now=app.now(), operation=op), lambda kept: _told(page, kept),
                given={"asset_no": asset_no, "activity": activity}, leave_out=("asset_no", "activity"), note=NOTE,
            )
        )  # fmt: skip

    _which(page, f"Defer which duty of {asset_no}?", activities, chosen)


def withdraw_for(page: Page, asset_no: str, activities: Sequence[str]) -> None:
    """Ask which deferral and why, and withdraw it."""
    app = page.refstd

    def chosen(activity: str) -> None:
        def given(why: str | None) -> None:
            if why is not None:
                page.act(
                    lambda op: withdraw_deferral(app.lab, asset_no, activity, why, by=app.by, now=app.now(), operation=op),
                    lambda kept: _told(page, kept),
                )  # fmt: skip

        app.push_screen(AskLine(f"Why is the {activity} of {asset_no} deferred no longer?"), given)

    _which(page, f"Withdraw the deferral of which duty of {asset_no}?", activities, chosen)


def _which(page: Page, question: str, activities: Sequence[str], then: Callable[[str], None]) -> None:
    """Ask for one of several; a single one needs no question."""
    if len(activities) == 1:
        then(activities[0])
    else:
        page.app.push_screen(Choose(question, activities), lambda answer: then(answer) if answer else None)


def _told(page: Page, kept: DeferralShown) -> None:
    page.tell(kept.in_words())
    page.load()
