"""Reports as files, and issuing them."""

from pathlib import Path
from typing import Any

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.cli.call import Call
from refstd.cli.files import write_files
from refstd.cli.group import Question, pass_call


@click.command(
    cls=Question,
    example=[
        "refstd report due -o due.pdf",
        "refstd report item B-102 -o B-102.pdf --as-at 2026-03-01",
        "refstd report due -o due.pdf --issue --as ORLA",
        "refstd report due -o due.pdf --issue --sign /media/stick/lab.pem --as ORLA",
    ],
)
@click.argument("name", metavar="NAME")
@click.argument("about", nargs=-1, metavar="[ABOUT...]")
@click.option(
    "-o",
    "--output",
    "output",
    metavar="FILE",
    help="Where to write it; its ending (.pdf, .html, .xlsx, .csv, .json, .txt) decides the form. A PDF of more than 2,000 rows is several: due-1of3.pdf ...",
)
@click.option("--issue", is_flag=True, help="Keep in the log that these bytes were issued, by their SHA-256.")
@click.option("--sign", "key", metavar="KEY", help="Print the log's head on it with a signature by this private key.")
@pass_call
def report(call: Call, name: str, about: tuple[str, ...], output: str | None, issue: bool, key: str | None) -> None:
    """Write a report. Without -o it is shown.

    NAME is due, recall, drift, suspects, swaps, comparisons, intervals, register, item, job, kit, match, status, check, custody, lookback, traceability, decisions, equipment, findings, checks, clauses or issued, or the name of a
    list. ABOUT is what some are about: days for due, months for recall, a setup for drift and checks, a kind for register, an asset number for
    item, a job for job, match and traceability, the first and last day of a period for decisions, a material, form, kind, state or standing (all of them must hold) for equipment, a job and items of a kit for kit, an item with the days of a period or a job for lookback, asset numbers for status and, if you like, for custody, a check's number for check, a swap test for swaps, a comparison or a block for comparisons, an asset number or nothing for intervals, `open` for findings.
    """
    from refstd.reports import LISTS, REPORTS

    known = {**LISTS, **REPORTS}
    if name not in known:
        raise WrongUsage(f"'{safe(name)[:40]}' is not a report", "NAME", f"Use one of {', '.join(known)}.")
    _, function, argument = known[name]
    more = _argument(name, argument, about)
    if output is None and issue:
        raise WrongUsage("what is issued is a file", "--issue", "Name it with -o FILE.")
    if key and not issue:
        raise WrongUsage("a signed head stands on reports that are issued", "--sign", "Add --issue.")
    with call.store() as lab:
        when = call.when(lab)
        sheet = function(lab, when, **more)
        if output is None:
            call.show(sheet)
            return
        from refstd.printing import files_of

        if key:
            from dataclasses import replace

            from refstd.cli.checkpoint import signed_with

            signed = signed_with(call, key, f"{sheet.log_sequence}:{sheet.log_hash}\n".encode())
            sheet = replace(sheet, notes=(*sheet.notes, signed.in_words()))
        path = Path(output)
        contents = {path.with_name(n): content for n, content in files_of(sheet, path.name).items()}
        if not issue:
            write_files(contents)
            for written in contents:
                call.line(f"wrote {written}")
            return
        from refstd.desk.issuing import issue_report

        by, now = call.who(), call.now(lab)
        digests: list[str] = []

        def recorded() -> None:
            digests.extend(issue_report(lab, p.name, content, by=by, now=now) for p, content in contents.items())

        write_files(contents, recorded)
    for written, digest in zip(contents, digests, strict=True):
        call.line(f"issued {written}, SHA-256 {digest}")


_MOST = {"within_days": ("days", 36_500), "months": ("months", 60)}
_NEEDED = ("asset_no", "about", "job", "number")


def _argument(name: str, argument: str, about: tuple[str, ...]) -> dict[str, Any]:
    """Return the argument of a report from what the command says it is about."""
    if about and not argument:
        raise WrongUsage(
            f"the report '{name}' takes nothing after its name", safe(about[0]), f"Leave '{safe(about[0])}' out."
        )
    if not about:
        if argument in _NEEDED or name == "status":
            raise WrongUsage(
                f"the report '{name}' needs to know what it is about", argument, f"Write `refstd report {name} NUMBER`."
            )
        return {}
    if argument == "between" and len(about) > 2:
        raise WrongUsage("a period has a first and a last day", safe(about[2]), "Name at most two days.")
    if argument in ("asset_nos", "about", "between", "words"):
        return {argument: list(about)}
    if len(about) > 1:
        raise WrongUsage(f"the report '{name}' is about one thing", safe(about[1]), "Name one.")
    if argument in _MOST:
        what, most = _MOST[argument]
        if not (about[0].isascii() and about[0].isdigit() and len(about[0]) < 6 and int(about[0]) <= most):
            raise WrongUsage(f"'{safe(about[0])[:20]}' is not a number of {what}", "ABOUT", f"Give one up to {most}.")
        return {argument: int(about[0])}
    if argument == "only_open":
        if about[0] != "open":
            raise WrongUsage(
                f"'{safe(about[0])[:20]}' is not understood", "ABOUT", "Write `open`, or nothing for all findings."
            )
        return {argument: True}
    if argument == "kind":
        return {argument: about[0].lower().removesuffix("s").replace("accessorie", "accessory")}
    return {argument: about[0]}
