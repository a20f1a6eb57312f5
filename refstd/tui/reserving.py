"""Reserving for a job, and cancelling a reservation, from the job's page."""

from refstd.desk.reservations import ReservationDraft, Shortage, cancel, reserve
from refstd.tui.asking import AskLine
from refstd.tui.forms import FormScreen
from refstd.tui.pages import Page


def reserve_for(page: Page, job: str) -> None:
    """Ask what the job is to have, over which days."""
    app = page.refstd

    def done(kept: tuple[str, tuple[Shortage, ...]]) -> None:
        number, short = kept
        page.tell("\n".join((f"reservation {number} for job {job}", *(f"short: {s.in_words()}" for s in short))))
        page.load()

    app.push_screen(
        FormScreen(
            f"Reserve for job {job}", ReservationDraft,
            lambda d, _, op: reserve(app.lab, d, by=app.by, now=app.now(), operation=op), done,
            given={"job": job}, leave_out=("job",), note="Where there will not be enough is told at once; nothing is refused for it.",
        )
    )  # fmt: skip


def cancel_one(page: Page, number: str) -> None:
    """Ask for the reason, then cancel a reservation."""
    app = page.refstd

    def given(why: str | None) -> None:
        if why is not None:
            page.act(lambda op: cancel(app.lab, number, why, by=app.by, now=app.now(), operation=op), lambda _: done())

    def done() -> None:
        page.tell(f"reservation {number} is cancelled; it stays on record")
        page.load()

    app.push_screen(AskLine(f"Why is reservation {number} cancelled?"), given)
