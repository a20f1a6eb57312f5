"""One Sheet, and any Sheet as text, CSV, JSON, XLSX, HTML or PDF."""

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.printing.sheet import Sheet

ENDINGS = ("txt", "csv", "json", "xlsx", "html", "pdf")


def files_of(sheet: Sheet, name: str) -> dict[str, bytes]:
    """Return the sheet as the file of that name, whose ending says the form; as a PDF in volumes where one is too small.

    The volumes of due.pdf are due-1of3.pdf, due-2of3.pdf and so on. Raises as `render` does.
    """
    stem, dot, ending = name.rpartition(".")
    if ending.lower() == "pdf" and dot:
        from refstd.printing.pdf import to_volumes

        volumes = to_volumes(sheet)
        if len(volumes) > 1:
            return {f"{stem}-{i}of{len(volumes)}.{ending}": content for i, content in enumerate(volumes, 1)}
        return {name: volumes[0]}
    return {name: render(sheet, ending if dot else "")}


def render(sheet: Sheet, ending: str) -> bytes:
    """Return the sheet as the bytes of a file with one of ENDINGS, in any case.

    The same sheet gives the same bytes, for PDF and XLSX with the same release of their writer. Raises WrongUsage for
    another ending, and Refusal for what a PDF or a workbook cannot hold.
    """
    form = ending.lower().removeprefix(".")
    if form == "txt":
        from refstd.printing.text import to_text

        return to_text(sheet).encode("utf-8")
    if form == "csv":
        from refstd.printing.csv import to_csv

        return to_csv(sheet).encode("utf-8")
    if form == "json":
        from refstd.printing.json import to_json

        return to_json(sheet).encode("utf-8")
    if form == "xlsx":
        from refstd.printing.xlsx import to_xlsx

        return to_xlsx(sheet)
    if form == "html":
        from refstd.printing.html import to_html

        return to_html(sheet).encode("utf-8")
    if form == "pdf":
        from refstd.printing.pdf import to_pdf

        return to_pdf(sheet)
    named = ", ".join(f".{known}" for known in ENDINGS)
    wrong = f"A report cannot be written as '.{safe(form)[:20]}'" if form else "The file's name has no ending"
    raise WrongUsage(wrong, sheet.schema, f"End the file's name in one of {named}.")
