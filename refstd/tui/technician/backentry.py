"""A paper sheet from a site without a computer: when it was read, by whom, its scan; then the check as at the bench."""

from pydantic import Field

from refstd.base.errors import Refusal
from refstd.desk.certificates import Paper
from refstd.desk.entry import Draft, NeededWords, OptionalNumber, Words
from refstd.exchange.cells import content_of
from refstd.tui.grid import HeadForm
from refstd.tui.pages import Page
from refstd.tui.screens import told
from refstd.tui.technician.underway import Late


class SheetDraft(Draft):
    """The head of a paper sheet that is entered later."""

    read_at: NeededWords = Field(title="read at", description="YYYY-MM-DDTHH:MM, the lab's time, as on the sheet")
    done_by: OptionalNumber = Field(None, title="read by", description="code of the one who read; empty: you")
    scan: Words = Field("", title="scan of the sheet", description="a file: PDF, PNG or JPEG; may be empty")


def enter_sheet(page: Page, job: str) -> None:
    """Ask for the head of a paper sheet, and begin its check."""
    from pathlib import Path

    app = page.refstd

    def onward(draft: SheetDraft) -> None:
        from refstd.tui.technician.check import CheckScreen

        try:
            path = Path(draft.scan).expanduser()
            scan = Paper(path.name, content_of(path)) if draft.scan else None
        except Refusal as refusal:
            form.notify(told(refusal), title="The scan cannot be read", severity="error", timeout=12, markup=False)
            return
        late = Late(draft.read_at, draft.done_by or "", scan)
        app.switch_screen(CheckScreen(job, late=late))

    form = HeadForm(f"Paper sheet of job {job}: enter the checks in order, then the lots", SheetDraft, onward)
    app.push_screen(form)
