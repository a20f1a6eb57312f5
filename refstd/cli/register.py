"""The register: lists, one number, entering records from a file, and states."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

import click

from refstd.base.errors import NotFound, WrongUsage
from refstd.base.text import key, safe
from refstd.cli.call import Call
from refstd.cli.group import Act, Question, pass_call

if TYPE_CHECKING:
    from refstd.desk.store import Lab, When
    from refstd.printing.sheet import Sheet


@click.command(cls=Question, example=["refstd list blocks", "refstd list checks --json", "refstd list out"])
@click.argument("kind", metavar="KIND")
@pass_call
def list_(call: Call, kind: str) -> None:
    """List what is on record of a kind.

    KIND is one of blocks, probes, instruments, accessories, materials, people, qualifications, vision_tests, procedures,
    jobs, setups, checks, lots, findings, swaps, comparisons, tolerances, deferrals, reviews, out.
    """
    from refstd.reports import LISTS

    if kind.lower() not in LISTS:
        raise WrongUsage(f"'{safe(kind)[:40]}' is not a kind of list", "KIND", f"Use one of {', '.join(LISTS)}.")
    _, function, _ = LISTS[kind.lower()]
    with call.store() as lab:
        sheet = function(lab, call.when(lab))
    call.show(_still_out(sheet) if kind.lower() == "out" else sheet)


def _still_out(sheet: "Sheet") -> "Sheet":
    """Return the custody sheet with only what has not come back."""
    from dataclasses import replace

    place = [c.key for c in sheet.columns].index("until")
    return replace(sheet, title="Out now", rows=tuple(r for r in sheet.rows if not r[place]), scope=())


@click.command(cls=Question, example=["refstd show B-102", "refstd show C-0042", "refstd show J-26-05 --json"])
@click.argument("number", metavar="NUMBER")
@pass_call
def show(call: Call, number: str) -> None:
    """Show everything about one number: an item, a job, a setup, a check, a finding, a procedure, whichever has it."""
    with call.store() as lab:
        sheets = list(_sheets_about(lab, call.when(lab), number))
    if not sheets:
        raise NotFound(
            f"nothing is on record under '{safe(number)[:40]}'",
            "",
            "See `refstd list blocks` and the other lists; `refstd list --help`.",
        )
    for place, sheet in enumerate(sheets):
        if place:
            click.echo()
        call.show(sheet)


def _sheets_about(lab: "Lab", when: "When", number: str) -> Iterator["Sheet"]:
    """Yield a sheet for every record that bears the number: the full page where there is one, else its rows in its list."""
    from refstd.reports import LISTS
    from refstd.reports.check import check_sheet
    from refstd.reports.item import item_sheet
    from refstd.reports.job import job_sheet
    from refstd.reports.papers import papers_sheet

    pages: tuple[Callable[..., Sheet], ...] = (item_sheet, check_sheet, papers_sheet)
    for page in pages:
        try:
            yield page(lab, when, number)
        except NotFound:
            continue
    for kind, column in (
        ("jobs", "number"), ("setups", "number"), ("findings", "number"), ("procedures", "code"), ("lots", "number"),
        ("people", "code"), ("qualifications", "number"), ("vision_tests", "number"), ("materials", "code"), ("swaps", "number"),
        ("comparisons", "number"), ("reservations", "number"),
    ):  # fmt: skip
        found = _narrowed(LISTS[kind][1](lab, when), column, number)
        if found is not None:
            yield found
            if kind == "jobs":
                yield job_sheet(lab, when, number)
                yield _narrowed_by(LISTS["checks"][1](lab, when), "job", number)
            if kind == "people":
                yield _narrowed_by(LISTS["qualifications"][1](lab, when), "person", number)
                yield _narrowed_by(LISTS["vision_tests"][1](lab, when), "person", number)
            if kind == "setups":
                yield _narrowed_by(LISTS["checks"][1](lab, when), "setup", number)


def _narrowed(sheet: "Sheet", column: str, number: str) -> "Sheet | None":
    narrowed = _narrowed_by(sheet, column, number)
    return narrowed if narrowed.rows else None


def _narrowed_by(sheet: "Sheet", column: str, number: str) -> "Sheet":
    """Return the sheet with only the rows whose column holds the number."""
    from dataclasses import replace

    place = [c.key for c in sheet.columns].index(column)
    rows = tuple(r for r in sheet.rows if key(r[place]) == key(number))
    return replace(sheet, rows=rows, scope=(*sheet.scope, (column, number.upper())))


@click.command(
    cls=Act, example=['refstd state B-102 quarantined --why "knocked off the bench" --as TAM', 'refstd state B-102 "in service" --why "measured, sound" --as ORLA']
)  # fmt: skip
@click.argument("asset", metavar="ASSET")
@click.argument("state_name", metavar="STATE")
@click.option("--why", required=True, help="The reason.")
@click.option("--location", default="", help="Where it is from now on; else where it was.")
@pass_call
def state(call: Call, asset: str, state_name: str, why: str, location: str) -> None:
    """Put an item into a state, with the reason.

    STATE is one of in service, awaiting receipt, quarantined, in repair, retired, stored, away at laboratory,
    calibrate before use, reference only. A technician may quarantine; the rest is the custodian's; `refstd lost`
    and `refstd found` put a loss on record. Back in service from a
    repair, the event 'repaired' is recorded too, as at the instant it went into repair.
    """
    from refstd.desk.states import set_state

    with call.store() as lab:
        found = set_state(lab, asset, state_name, why, location=location, by=call.who(), now=call.now(lab))
    call.line(f"{asset.upper()} is {state_name}")
    for number in found:
        call.line(f"the repair is on record, and finding {number} holds the lots that no check covers now")


@click.command(
    cls=Act,
    example=[
        "refstd add probes probes.csv --as ORLA",
        "refstd add blocks blocks.csv notches.csv --as ORLA",
        "refstd add jobs - --as TAM < jobs.csv",
    ],
)
@click.argument("kind", metavar="KIND")
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
@click.option("--check", "only_check", is_flag=True, help="Only say what is wrong; write nothing.")
@click.option("--paper", default="", metavar="FILE", help="For one certificate: its paper (PDF, PNG, JPEG or XML).")
@pass_call
def add(call: Call, kind: str, files: tuple[str, ...], only_check: bool, paper: str) -> None:
    """Enter records of one kind from a CSV file ('-' is standard input): all of them, or none.

    KIND names the first file's kind, as in `refstd import --help`; further files are known by their names.
    """
    from refstd.cli.exchanging import file_with_paper, read_in

    if not paper:
        read_in(call, list(files), kind, only_check)
        return
    if kind.lower() != "certificates" or len(files) > 2 or only_check:
        raise WrongUsage(
            "a paper belongs to one certificate",
            "--paper",
            "Write `refstd add certificates FILE [VALUES] --paper FILE`.",
        )
    file_with_paper(call, files[0], files[1] if len(files) == 2 else None, paper)
