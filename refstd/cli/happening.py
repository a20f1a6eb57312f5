"""Events: what happened to an item and may have changed how it answers."""

from typing import TYPE_CHECKING

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Act, pass_call

if TYPE_CHECKING:
    from refstd.desk.caused import Caused


@click.command(
    cls=Act,
    example=[
        'refstd event P-202 "tape renewed" --tape PTFE --thickness 0.10 --as TAM',
        "refstd event P-202 knocked --check --as TAM",
        'refstd event I-302 "firmware changed" --note "version 2.4" --happened-at 2026-03-09T10:40 --as ORLA',
    ],
)
@click.argument("asset", metavar="ASSET")
@click.argument("what", metavar="EVENT")
@click.option("--tape", default="", metavar="KIND", help="Kind of tape; with 'tape renewed'.")
@click.option("--thickness", default="", metavar="MM", help="Thickness of the tape, mm; with 'tape renewed'.")
@click.option(
    "--happened-at",
    default="",
    metavar="INSTANT",
    help="When it happened; a day alone counts from its start; left out: now.",
)
@click.option("--note", default="", help="What else there is to say.")
@click.option("--check", "only_check", is_flag=True, help="Only say what it would cause; write nothing.")
@pass_call
def event(
    call: Call, asset: str, what: str, tape: str, thickness: str, happened_at: str, note: str, only_check: bool
) -> None:  # fmt: skip
    """Put on record that something happened to an item and may have changed how it answers.

    EVENT is one of tape renewed, tip worn, tip cleaned, reading moves with the cable, play in the bearing, knocked,
    power off, program recalled, repaired, part exchanged, firmware changed. Nothing is examined after it before a new start check. The last three break
    the record: no check after them speaks for the work before. With --check it says what the event would cause: which start
    checks end, which lots are held, which series break, whether the item may still be used.
    """
    from refstd.desk.caused import preview_event
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.events import EventDraft, counted_from, record_event

    draft = draft_or_refuse(EventDraft, _values(asset, what, tape, thickness, happened_at, note), "event")
    with call.store() as lab:
        if only_check:
            _tell_caused(call, preview_event(lab, draft, by=call.who(), now=call.now(lab)))
            return
        found = record_event(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"{draft.asset_no}: {draft.event}; a new start check is asked for")
    if read_as := counted_from(draft):
        call.line(read_as)
    _tell_held(call, found)


@click.command(
    "event",
    cls=Act,
    short_help="Correct or withdraw an event.",
    example=[
        'refstd correct event P-202 812 --event "tip cleaned" --why "wrong word chosen" --as TAM',
        'refstd correct event P-202 812 --withdraw --why "it was P-203" --as TAM',
    ],
)
@click.argument("asset", metavar="ASSET")
@click.argument("entry", metavar="ENTRY")
@click.option("--event", "what", default="", metavar="EVENT", help="What happened.")
@click.option("--tape", default="", metavar="KIND", help="Kind of tape; with 'tape renewed'.")
@click.option("--thickness", default="", metavar="MM", help="Thickness of the tape, mm; with 'tape renewed'.")
@click.option("--happened-at", default="", metavar="INSTANT", help="When it happened; left out: as recorded.")
@click.option("--note", default="", help="What else there is to say.")
@click.option("--withdraw", is_flag=True, help="It did not happen.")
@click.option("--why", required=True, help="What was wrong.")
@click.option("--check", "only_check", is_flag=True, help="Only say what it would cause; write nothing.")
@pass_call
def correct_event(
    call: Call, asset: str, entry: str, what: str, tape: str, thickness: str, happened_at: str, note: str, withdraw: bool,
    why: str, only_check: bool,
) -> None:  # fmt: skip
    """Correct an event, named by its item and the log entry that brought it (`refstd show ASSET` lists them).

    What the first record held stays held until it is released. One that breaks the record (repaired, part exchanged,
    firmware changed) is corrected by another person than the one who recorded it. With --check it says what the correction
    would cause. ENTRY is a number such as 812; 812/2 is the second event of the item that an import brought in one entry.
    """
    from refstd.desk.caused import preview_correction
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.events import EventDraft, counted_from
    from refstd.desk.events import correct_event as correct

    if withdraw is bool(what):
        raise WrongUsage("an event is either described anew or withdrawn", "", "Give --event WORDS, or --withdraw.")
    values = _values(asset, what, tape, thickness, happened_at, note)
    draft = None if withdraw else draft_or_refuse(EventDraft, values, "event")
    with call.store() as lab:
        if only_check:
            _tell_caused(call, preview_correction(lab, asset, entry, draft, why, by=call.who(), now=call.now(lab)))
            return
        found = correct(lab, asset, entry, draft, why, by=call.who(), now=call.now(lab))
    call.line(f"event of {asset.upper()} in log entry {entry} {'withdrawn' if withdraw else 'corrected'}")
    if draft and (read_as := counted_from(draft)):
        call.line(read_as)
    _tell_held(call, found)


def _values(asset: str, what: str, tape: str, thickness: str, happened_at: str, note: str) -> dict[str, str]:
    values = {"asset_no": asset, "event": what, "tape": tape, "tape_thickness_mm": thickness}
    return values | {"happened_at": happened_at, "note": note}


def _tell_caused(call: Call, told: "Caused") -> None:
    for line in told.in_words():
        call.line(line)
    call.line("Nothing is on record: without --check it is kept.")


def _tell_held(call: Call, found: tuple[str, ...]) -> None:
    for number in found:
        call.line(f"finding {number} holds the lots that no check covers now")
