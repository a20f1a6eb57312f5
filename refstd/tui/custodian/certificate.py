"""Filing a certificate: its head as a form, then a row a notch with nominal beside measured, U, k and limits."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, ClassVar

from refstd.base.errors import Refusal
from refstd.base.quantity import plain
from refstd.desk.certificates import CertificateDraft, Paper, ValueDraft, file_certificate
from refstd.desk.history import CertificateShown
from refstd.desk.items import ItemShown
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, HELP, Command
from refstd.tui.grid import F2, F3, F6, GridColumn, GridScreen, HeadForm
from refstd.tui.pages import Page
from refstd.tui.record_sections import text_of

_MEASURED = (
    GridColumn("value", "measured", 8), GridColumn("unit", "unit", 5), GridColumn("expanded_uncertainty", "U", 6),
    GridColumn("coverage_factor", "k", 4), GridColumn("lower_limit", "lower", 6), GridColumn("upper_limit", "upper", 6),
    GridColumn("limit_source", "source", 10), GridColumn("stage", "stage", 8),
)  # fmt: skip
_NOTCHES = (GridColumn("notch", "notch", 8, fixed=True), GridColumn("nominal", "nominal", 7, fixed=True), *_MEASURED)
_WHOLE = (GridColumn("notch", "notch", 7), GridColumn("quantity", "quantity", 9), *_MEASURED)
VALUES_NOTE = "One row a value, as the paper prints it: measured value, expanded uncertainty U, coverage factor k, limits with their source."


class ValuesGrid(GridScreen[ValueDraft]):
    """The values of a certificate: nominal beside measured, with U, k and limits. Rows left empty are not kept."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        F2,
        F3,
        Command("f4", "attach", "Attach paper", "Attach the paper itself: PDF, PNG, JPEG or XML, at most 10 MB."),
        F6,
        BACK,
        HELP,
    )

    def __init__(self, *args: Any, papers: list[Paper], **options: Any) -> None:
        super().__init__(*args, **options)
        self.papers = papers  # the last one is attached; the list outlives a step back to the form

    def action_attach(self) -> None:
        def given(path: str | None) -> None:
            if not path:
                return
            try:
                self.papers.append(read_paper(path))
            except Refusal as refusal:
                self.refused(refusal)
                return
            self.notify(f"{self.papers[-1].name} will be attached", markup=False)

        self.app.push_screen(AskLine("Path of the paper to attach (PDF, PNG, JPEG or XML):"), given)


def read_paper(path: str) -> Paper:
    """Return a paper from a file, or refuse with the reason."""
    file = Path(path.strip()).expanduser()
    try:
        return Paper(file.name, file.read_bytes())
    except OSError as error:
        raise Refusal(f"the file cannot be read: {error.strerror}", str(file), "Check the path.") from error


def file_for(page: Page, item: ItemShown) -> None:
    """Open the form of a new certificate, then its values."""

    def filed(number: str) -> None:
        page.tell(f"certificate {number} of {item.asset_no} filed")
        page.load()

    _open(page, item, {"asset_no": item.asset_no}, _rows_for(item), filed)


def correct_for(page: Page, item: ItemShown, before: CertificateShown) -> None:
    """Open a certificate again with what is on record; it is filed anew in its place, with the reason."""
    given = {
        name: text_of(getattr(before, name))
        for name in CertificateDraft.model_fields
        if hasattr(before, name) and text_of(getattr(before, name))
    } | {"asset_no": item.asset_no}
    names = ValueDraft.model_fields
    nominal = {n.label: f"{plain(n.depth_mm)} mm" for n in item.notches}
    rows = [
        {name: text_of(getattr(v, name)) for name in names} | {"nominal": nominal.get(v.notch, "") if v.is_depth else ""}
        for v in before.values
    ]  # fmt: skip

    def given_why(why: str | None) -> None:
        if why is None:
            return

        def filed(number: str) -> None:
            page.tell(f"certificate {number} of {item.asset_no} corrected; the earlier record stays")
            page.load()

        _open(page, item, given, rows or _rows_for(item), filed, supersedes=before.number, why=why)

    page.app.push_screen(AskLine(f"Why is certificate {before.number} corrected?"), given_why)


def _rows_for(item: ItemShown) -> list[dict[str, str]]:
    if not item.notches:
        return [
            {"unit": "%IACS", "quantity": "conductivity"}
            if item.form == "conductivity"
            else {"unit": "dB", "quantity": ""}
        ] * 2
    return [
        {"notch": n.label, "nominal": f"{plain(n.depth_mm)} mm", "quantity": "depth", "unit": "mm"} for n in item.notches
    ]  # fmt: skip


def _open(
    page: Page,
    item: ItemShown,
    given: Mapping[str, str],
    rows: list[dict[str, str]],
    filed: Callable[[str], None],
    *,
    supersedes: str = "",
    why: str = "",
) -> None:
    app = page.refstd
    columns = _NOTCHES if item.notches else _WHOLE
    papers: list[Paper] = []

    def to_values(draft: CertificateDraft) -> None:
        def keep(values: tuple[ValueDraft, ...], operation: str) -> str:
            file_certificate(
                app.lab, draft, values, papers[-1] if papers else None, supersedes=supersedes, why=why, by=app.by, now=app.now(), operation=operation
            )  # fmt: skip
            return draft.number

        app.push_screen(ValuesGrid(
            f"Values of certificate {draft.number}, {item.asset_no}", ValueDraft, columns, rows, keep, filed,
            decides="value", row_name="value", follows=("unit", "limit_source", "stage"), note=VALUES_NOTE, papers=papers,
        ))  # fmt: skip

    app.push_screen(
        HeadForm(f"Certificate of {item.asset_no}", CertificateDraft, to_values, given=given, leave_out=("asset_no",))
    )
