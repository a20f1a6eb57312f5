"""Filing a certificate: its head as a form, then its values a row a notch; correcting one from what is on record."""

from collections.abc import Callable, Mapping, Sequence

from refstd.base.quantity import plain
from refstd.desk.certificate_entry import for_all_from_last, head_from_last, nominal_of, rows_of
from refstd.desk.certificates import CertificateDraft, Paper, ValueDraft, file_certificate
from refstd.desk.history import CertificateShown, ItemRecord
from refstd.desk.items import ItemShown
from refstd.tui.asking import AskLine
from refstd.tui.custodian.valuesgrid import FOUND, ValuesGrid
from refstd.tui.filedpage import FiledPage
from refstd.tui.grid import HeadForm
from refstd.tui.pages import Page
from refstd.tui.record_sections import point_words, text_of

Fields = dict[str, str]


def file_for(page: Page, record: ItemRecord) -> None:
    """Open the form of a new certificate, then its values."""
    item = record.item

    def filed(number: str) -> None:
        page.tell(f"certificate {number} of {item.asset_no} filed")
        page.app.push_screen(FiledPage(item.asset_no, number))

    again, last = head_from_last(record.certificates)
    for_all = {k: text_of(v) for k, v in for_all_from_last(record.certificates).items()}
    named = [n.replace("_", " ") for n in again] + (["U, k and what else stands for all values"] if for_all else [])
    note = f"As on {last}: {', '.join(named)}. Hold them against this paper." if last else ""
    _open(page, record, {"asset_no": item.asset_no, **again}, for_all, _rows_for(item), filed, note=note)


def correct_for(page: Page, record: ItemRecord, before: CertificateShown) -> None:
    """Open a certificate again with what is on record; it is filed anew in its place, with the reason."""
    item = record.item
    given = {
        name: text_of(getattr(before, name))
        for name in CertificateDraft.model_fields
        if hasattr(before, name) and text_of(getattr(before, name))
    } | {"asset_no": item.asset_no}
    for_all, filed_rows = rows_of(before.values)
    rows = [_with_nominal(item, {k: text_of(v) for k, v in r.items()}) for r in filed_rows]

    def given_why(why: str | None) -> None:
        if why is None:
            return

        def filed(number: str) -> None:
            page.tell(f"certificate {number} of {item.asset_no} corrected; the earlier record stays")
            page.app.push_screen(FiledPage(item.asset_no, number))

        _open(
            page, record, given, {k: text_of(v) for k, v in for_all.items()}, rows or _rows_for(item), filed,
            supersedes=before.number, why=why,
        )  # fmt: skip

    page.app.push_screen(AskLine(f"Why is certificate {before.number} corrected?"), given_why)


def _rows_for(item: ItemShown) -> list[Fields]:
    if not item.notches:
        conductivity = {"unit": "%IACS", "quantity": "conductivity"}
        return [conductivity if item.form == "conductivity" else {"unit": "dB", "quantity": ""}] * 2
    return [_with_nominal(item, {"notch": n.label, "quantity": "depth"}) for n in item.notches]


def _with_nominal(item: ItemShown, row: Fields) -> Fields:
    notch = next((n for n in item.notches if n.label == row.get("notch")), None)
    nominal = nominal_of(notch, row["quantity"]) if notch else None
    return row | {"nominal": f"{plain(nominal)} mm" if nominal is not None else ""}


def _open(
    page: Page,
    record: ItemRecord,
    given: Mapping[str, str],
    for_all: Mapping[str, str],
    rows: Sequence[Fields],
    filed: Callable[[str], None],
    *,
    supersedes: str = "",
    why: str = "",
    note: str = "",
) -> None:
    app, item = page.refstd, record.item
    papers: list[Paper] = []
    in_force = {p.notch: f"in force: {point_words(p)}" for p in reversed(record.status.points) if p.is_depth}

    def to_values(draft: CertificateDraft) -> None:
        def keep(values: tuple[ValueDraft, ...], operation: str) -> str:
            file_certificate(
                app.lab, draft, values, papers[-1] if papers else None, supersedes=supersedes, why=why, by=app.by, now=app.now(), operation=operation
            )  # fmt: skip
            return draft.number

        typed = [r.typed for r in head.rows_left]
        adjusted = draft.adjusted or any(r.get(FOUND) for r in (*rows, *typed))
        app.push_screen(
            ValuesGrid(
                f"Values of certificate {draft.number}, {item.asset_no}", item, rows, for_all, keep, filed,
                adjusted=adjusted, in_force=in_force, papers=papers,
            )
        )  # fmt: skip

    head = HeadForm(
        f"Certificate of {item.asset_no}", CertificateDraft, to_values, given=given, leave_out=("asset_no",), note=note
    )
    app.push_screen(head)
