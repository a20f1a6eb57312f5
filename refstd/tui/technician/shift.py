"""Handing a job over to the next shift: what is missing first, then to whom, then one page to read before it is on record."""

from collections.abc import Callable

from refstd.desk.shifts import ShiftDraft, ShiftReady, ShiftShown, hand_shift_over, shift_ready
from refstd.tui.asking import Choose
from refstd.tui.forms import FormScreen, Parts
from refstd.tui.pages import Page


def hand_over_shift(page: Page, job: str, then: Callable[[], None]) -> None:
    """Ask to whom a job goes on and show what goes with it; where a closing check is missing, say so and ask why none is made."""
    app = page.refstd
    lab, when, by = app.lab, app.when(), app.by

    def ask(ready: ShiftReady) -> None:
        if not ready.items:
            page.notify(
                f"Nothing of job {job} is out with you.", title="Nothing to hand over", severity="warning", markup=False
            )
            return
        asked = Choose(
            _told(job, ready) + "\nTo whom?",
            [p.code for p in ready.receivers],
            [f"{p.code} {p.name}" for p in ready.receivers],
        )
        app.push_screen(asked, lambda to: form(ready, to) if to else None)

    def form(ready: ShiftReady, to: str) -> None:
        leave_out = ("job", "to", *(() if ready.missing else ("impossible",)))
        screen = FormScreen(
            f"job {job} to {to}", ShiftDraft, keep, given={"job": job, "to": to, "condition": "as handed out"},
            leave_out=leave_out, then=done,
        )  # fmt: skip
        app.push_screen(screen)

    def keep(draft: ShiftDraft, _parts: Parts, operation: str) -> ShiftShown:
        return hand_shift_over(lab, draft, by=by, now=app.now(), operation=operation)

    def done(shown: ShiftShown) -> None:
        page.tell(f"Job {job} with {shown.to} now, who begins with a start check.\n{shown.in_words()}")
        then()

    page.ask(lambda: shift_ready(lab, job, by, when), ask)


def _told(job: str, ready: ShiftReady) -> str:
    """Return what goes with a job, and what is missing, a line each."""
    lots = "; ".join(f"{x.number} ({x.examined})" for x in ready.lots) or "none"
    holds = "; ".join(f"{f.number} holds {f.holds_and_freed()}" for f in ready.holds) or "none"
    closed = [w.in_words() for w in ready.work if not w.missing] or ([] if ready.missing else ["nothing was at work"])
    missing = [f"✗ {m}: make it first (Esc), or say on the next page why none is possible" for m in ready.missing]
    return "\n".join(
        (
            f"Job {job} goes on with {', '.join(ready.items)}.",
            *missing,
            *closed,
            f"Lots since: {lots}",
            f"Open holds: {holds}",
        )
    )
