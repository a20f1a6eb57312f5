"""Opening a job: the form, with procedures and materials on record to choose from."""

from refstd.base.errors import Refusal
from refstd.base.text import safe
from refstd.desk.job_parts import DetailsDraft, DetailsShown
from refstd.desk.jobs import JobDraft, enter_job, materials
from refstd.desk.procedures import procedures
from refstd.tui.forms import FormScreen, Part, Parts
from refstd.tui.screens import LabScreen

DETAILS = "what is known of the parts"


def details_in_words(d: DetailsDraft) -> str:
    """Return the details that were given as one line."""
    return "; ".join(f"{about}: {says}" for about, says in DetailsShown(**d.model_dump()).stated()) or "nothing"


def open_job_form(screen: LabScreen) -> None:
    """Open the form of a new job over a screen; it says there what came of it."""
    app = screen.refstd

    def keep(draft: JobDraft, parts: Parts, operation: str) -> str:
        if len(parts[DETAILS]) > 1:
            raise Refusal(f"{DETAILS} stands twice", "", "Take one of the two out.")
        enter_job(app.lab, draft, *parts[DETAILS], by=app.by, now=app.now(), operation=operation)
        return draft.number

    def told(number: str) -> None:
        app.screen.notify(safe(f"Job {number}. Next: m, match a kit."), title="Job opened", markup=False)

    def known() -> tuple[list[str], list[str]]:
        when = app.when()
        return [p.code for p in procedures(app.lab, when)], [m.code for m in materials(app.lab, when)]

    def show(found: tuple[list[str], list[str]]) -> None:
        today = screen.local(app.now())[:10]
        form = FormScreen(
            "new job", JobDraft, keep, told, given={"starts_on": today},
            choices={"procedure": found[0], "material": found[1]}, parts=(Part(DETAILS, DetailsDraft, details_in_words),),
            note="F3 adds what is known of the parts, such as coating or area; or later.",
        )  # fmt: skip
        app.push_screen(form)

    screen.ask(known, show)
