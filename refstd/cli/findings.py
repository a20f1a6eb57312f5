"""Findings: opening one, noting something on it, deciding it, releasing what it holds."""

from typing import Literal

import click

from refstd.cli.call import Call
from refstd.cli.group import Act, Subjects, pass_call


@click.group(cls=Subjects, example='refstd finding note F-0001 --why "block sent for measurement" --as ORLA')
def finding() -> None:
    """Open, note, decide or release a finding; `refstd list findings` shows them."""


@finding.command(
    "open",
    cls=Act,
    example='refstd finding open --cause damage --item B-102 --says "edge knocked at the 0.5 mm notch" --as TAM',
)
@click.option(
    "--cause", required=True, metavar="WORD", help="damage, certificate, late return, failed response check, other"
)
@click.option("--says", required=True, help="What was found.")
@click.option("--item", default="", metavar="ASSET", help="The item to hold.")
@click.option("--setup", default="", metavar="NUMBER", help="The setup to hold.")
@pass_call
def open_(call: Call, cause: str, says: str, item: str, setup: str) -> None:
    """Put something wrong on record. The item or setup that it names is held from now on."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.findings import FindingDraft, open_finding

    draft = draft_or_refuse(FindingDraft, {"cause": cause, "says": says, "item": item, "setup": setup}, "finding")
    with call.store() as lab:
        number = open_finding(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"finding {number} opened; it holds {draft.item or 'setup ' + str(draft.setup)}")


def _act_on(call: Call, number: str, kind: Literal["note", "disposition", "release"], why: str, done: str) -> None:
    from refstd.desk.findings import act_on

    with call.store() as lab:
        act_on(lab, number, kind, why, by=call.who(), now=call.now(lab))
    call.line(f"finding {number.upper()} {done}")


@finding.command("note", cls=Act, example='refstd finding note F-0001 --why "block sent for measurement" --as ORLA')
@click.argument("number", metavar="FINDING")
@click.option("--why", required=True, help="What is to be noted.")
@pass_call
def note(call: Call, number: str, why: str) -> None:
    """Note something on a finding."""
    _act_on(call, number, "note", why, "noted")


@finding.command(
    "decide", cls=Act, example='refstd finding decide F-0001 --why "re-examine lots L-0002 and L-0003" --as GRETA'
)
@click.argument("number", metavar="FINDING")
@click.option("--why", required=True, help="The decision and its reason.")
@pass_call
def decide(call: Call, number: str, why: str) -> None:
    """Record what was decided. Needs the authority; never by the one whose check it is."""
    _act_on(call, number, "disposition", why, "decided")


@finding.command(
    "release", cls=Act, example='refstd finding release F-0001 --why "lots re-examined under C-0051" --as GRETA'
)
@click.argument("number", metavar="FINDING")
@click.option("--why", required=True, help="Why the hold ends.")
@pass_call
def release(call: Call, number: str, why: str) -> None:
    """End the hold. Needs the authority; never by the one whose check it is; held lots are decided first."""
    _act_on(call, number, "release", why, "released")
