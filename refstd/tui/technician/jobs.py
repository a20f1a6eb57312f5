"""Opening a job: the form, with procedures and materials on record to choose from."""

from refstd.base.text import safe
from refstd.desk.jobs import JobDraft, enter_job, materials
from refstd.desk.procedures import procedures
from refstd.tui.forms import FormScreen, Parts
from refstd.tui.screens import LabScreen


def open_job_form(screen: LabScreen) -> None:
    """Open the form of a new job over a screen; it says there what came of it."""
    app = screen.refstd

    def keep(draft: JobDraft, _parts: Parts, operation: str) -> str:
        enter_job(app.lab, draft, by=app.by, now=app.now(), operation=operation)
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
            choices={"procedure": found[0], "material": found[1]},
        )  # fmt: skip
        app.push_screen(form)

    screen.ask(known, show)
