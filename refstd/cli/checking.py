"""Response checks and baselines from a readings file."""

from typing import TYPE_CHECKING

import click

from refstd.base.errors import BadInput, Problem, WrongUsage
from refstd.cli.call import Call, warn
from refstd.cli.files import content_of_file
from refstd.cli.group import Answering, pass_call
from refstd.cli.words import check_as_json, reasons_as_json, write_check, write_reasons

if TYPE_CHECKING:
    from refstd.desk.certificates import Paper
    from refstd.desk.checks import Preview
    from refstd.exchange.readings import ReadingSetDraft


@click.command(
    cls=Answering,
    example=[
        "refstd check S-0001 start.csv --job J-26-05 --as TAM",
        "refstd check S-0001 - --procedure ET-AL-01 --as TAM < today.csv",
        "refstd check S-0001 monday.csv --job J-26-05 --done-at 2026-03-02T07:30 --done-by WREN --sheet monday.pdf --as ORLA",
    ],
)
@click.argument("setup", metavar="SETUP")
@click.argument("readings", metavar="READINGS")
@click.option("--job", default="", metavar="NUMBER", help="The job that the check belongs to.")
@click.option(
    "--procedure", default="", metavar="CODE", help="For a check without a job: the procedure that judges it."
)
@click.option("--occasion", default="", metavar="WORD", help="start, interim, end …; else the file's own column.")
@click.option("--block-temperature", default="", metavar="C", help="Of the block, °C; else the file's own column.")
@click.option("--part-temperature", default="", metavar="C", help="Of the part, °C; else the file's own column.")
@click.option(
    "--done-at",
    default="",
    metavar="INSTANT",
    help="When it was read, if it is entered later; else the file's own column, else now.",
)
@click.option("--done-by", default="", metavar="CODE", help="Who read it, if somebody else enters it.")
@click.option("--sheet", default="", metavar="FILE", help="The scan of the paper sheet: PDF, PNG or JPEG.")
@click.option("--preview", is_flag=True, help="Say what the check would say; keep nothing.")
@pass_call
def check(call: Call, /, setup: str, readings: str, sheet: str, preview: bool, **given: str) -> int:
    """Record a response check from a readings file (CSV; '-' is standard input) and say what it means.

    Columns: set, occasion, rotation_deg, horizontal_gain_db, vertical_gain_db, nulled, phase_set, noise,
    block_temperature_c, part_temperature_c, happened_at, done_by, cable, adapter, remedy, note, notch, horizontal, vertical. One row a notch; 'FS' in vertical for at least full
    screen; set 2 is the one repeat after the named remedy. Settings may stand in the first row of a set alone.

    What was read on site and is entered later (--done-at) is compared with the start check that was open then, judged as things
    stood then, and told as recorded late; one that is not acceptable holds what was examined since. Enter the checks in the order
    in which they were made, and then the lots.

    Exit code: 0 acceptable, 1 not acceptable, 6 not conclusive (which counts as no check).
    """
    from refstd.desk.checks import preview_check, record_check
    from refstd.desk.store import When

    if given["job"] and given["procedure"]:
        raise WrongUsage("a check of a job is judged by the job's procedure", "--procedure", "Give --job alone.")
    for thing in ("block", "part"):
        given[f"{thing}_temperature_c"] = given.pop(f"{thing}_temperature")
    given["happened_at"] = given.pop("done_at")
    first, repeat = _set_and_repeat(readings, {"setup": setup, **given})
    paper = _paper(sheet)
    judged = repeat or first
    with call.store() as lab:
        now = call.now(lab)
        by = "" if preview else call.who()
        before = preview_check(lab, judged.check, judged.readings, When(now))
        if preview:
            return _write_preview(call, before)
        again, repeated = (repeat.check, repeat.readings) if repeat else (None, ())
        verdict = record_check(lab, first.check, first.readings, repeated, again, sheet=paper, by=by, now=now)
    _warn_of(before)
    if call.json:
        call.show_json({"schema": "refstd.check/1", **check_as_json(verdict), "slips": _slips(before)})
    else:
        write_check(call, verdict)
    return verdict.exit_code


def _paper(sheet: str) -> "Paper | None":
    if not sheet:
        return None
    from refstd.desk.certificates import Paper

    return Paper(*content_of_file(sheet))


def _set_and_repeat(readings: str, given: dict[str, str]) -> "tuple[ReadingSetDraft, ReadingSetDraft | None]":
    sets = _sets(readings, given)
    if len(sets) > 2:
        problem = Problem(
            "set", f"there are {len(sets)}; a check has one set and at most one repeat", "Record further checks apart."
        )
        raise BadInput("readings", [problem])
    return sets[0], sets[1] if len(sets) == 2 else None


def _sets(readings: str, given: dict[str, str]) -> "tuple[ReadingSetDraft, ...]":
    from refstd.exchange.readings import readings_from

    name, content = content_of_file(readings)
    return readings_from(name, content, {k: v for k, v in given.items() if v})


def _slips(shown: "Preview") -> list[dict[str, str]]:
    return [{"notch": s.notch, "says": s.says} for s in shown.slips]


def _warn_of(shown: "Preview") -> None:
    for slip in shown.slips:
        warn(f"looks mistyped: {'notch ' + slip.notch + ': ' if slip.notch else ''}{slip.says}")


def _write_preview(call: Call, shown: "Preview") -> int:
    _warn_of(shown)
    if call.json:
        call.show_json(
            {
                "schema": "refstd.check_preview/1", "outcome": shown.outcome, "reasons": reasons_as_json(shown.reasons),
                "condition": reasons_as_json(shown.condition), "slips": _slips(shown), "may_repeat": shown.may_repeat,
            }
        )  # fmt: skip
        return shown.exit_code
    call.line(f"{shown.outcome} (a preview; nothing was kept)", strong=True)
    write_reasons(call, "the procedure's limits", shown.reasons)
    write_reasons(call, "condition of the equipment (does not decide the job)", shown.condition)
    return shown.exit_code


@click.command(
    cls=Answering,
    example='refstd baseline S-0001 setups.csv --procedure ET-AL-01 --approved-by IVO --why "first baseline" --as TAM',
)
@click.argument("setup", metavar="SETUP")
@click.argument("readings", metavar="READINGS")
@click.option(
    "--approved-by",
    required=True,
    metavar="CODE",
    help="Level 2 or responsible level 3, not the one who took the readings.",
)
@click.option("--procedure", default="", metavar="CODE", help="The procedure that the set-ups are taken under.")
@click.option("--job", default="", metavar="NUMBER", help="The job, instead of the procedure.")
@click.option("--why", default="", help="The reason; needed when it replaces a baseline.")
@pass_call
def baseline(call: Call, setup: str, readings: str, approved_by: str, procedure: str, job: str, why: str) -> None:
    """Freeze a baseline from independent set-ups in a readings file, each nulled and set up anew.

    The columns are those of `refstd check`; each `set` (1, 2, 3 …) is one set-up with its own happened_at.
    """
    from refstd.desk.baselines import BaselineDraft, set_baseline_from_readings
    from refstd.desk.entry import draft_or_refuse

    given = {"setup": setup, "procedure": procedure, "job": job, "occasion": "set-up"}
    sets = [(s.check, s.readings) for s in _sets(readings, given)]
    draft = draft_or_refuse(BaselineDraft, {"setup": setup, "approved_by": approved_by, "why": why}, "baseline")
    with call.store() as lab:
        numbers = set_baseline_from_readings(lab, draft, sets, by=call.who(), now=call.now(lab))
    if call.json:
        call.show_json(
            {
                "schema": "refstd.baseline/1",
                "setup": draft.setup,
                "approved_by": draft.approved_by,
                "checks": list(numbers),
            }
        )
        return
    call.line(
        f"baseline of setup {draft.setup} from {len(numbers)} set-ups: {', '.join(numbers)}; approved by {draft.approved_by}"
    )
