"""Items that are lost, who was told, and how they were found."""

import click

from refstd.cli.call import Call
from refstd.cli.group import Act, pass_call


@click.command(
    cls=Act,
    example=[
        'refstd lost P-214 --last-seen "TAM, hangar 2, 8 March" --as TAM',
        'refstd lost P-214 --told "customer 7, by telephone" --as ORLA',
    ],
)
@click.argument("asset", metavar="ASSET")
@click.option("--last-seen", default="", metavar="WORDS", help="Where, when and by whom it was last seen.")
@click.option("--told", default="", metavar="WORDS", help="Who was told, and how: the owner, or the custodian.")
@pass_call
def lost(call: Call, asset: str, last_seen: str, told: str) -> None:
    """Put on record that an item is lost, or who was told of it.

    A finding holds the item and every lot whose closing check can no longer be made. It says the last acceptable check,
    the jobs since and the return that is due. With --told alone: of an item that is lost already, who was told.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.lost import LossDraft, report_lost, tell_owner

    with call.store() as lab:
        if told and not last_seen:
            tell_owner(lab, asset, told, by=call.who(), now=call.now(lab))
            call.line(f"{asset.upper()}: told {told}")
            return
        draft = draft_or_refuse(LossDraft, {"asset_no": asset, "last_seen": last_seen, "told": told}, asset.upper())
        number = report_lost(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"{draft.asset_no} is lost; finding {number} holds it and what it leaves in doubt")
    if not told:
        call.line(f'nobody was told yet: refstd lost {draft.asset_no} --told "WHO, HOW"')


@click.command(
    cls=Act,
    example='refstd found P-214 --place "tool box 3" --condition "tip sound, cable kinked" --not-sound --as TAM',
)
@click.argument("asset", metavar="ASSET")
@click.option("--place", required=True, metavar="WORDS", help="Where it was found.")
@click.option("--condition", required=True, metavar="WORDS", help="In which condition.")
@click.option("--not-sound", is_flag=True, help="It is damaged or in doubt: a finding holds it.")
@click.option(
    "--count", "counts", multiple=True, metavar="NAME=COUNT", help="Pieces that went out with it, as counted now."
)
@click.option("--part", default="", help="Where a count does not agree: the aircraft or part to look at.")
@click.option("--area", default="", help="And the area of it.")
@pass_call
def found(
    call: Call, asset: str, place: str, condition: str, not_sound: bool, counts: tuple[str, ...], part: str, area: str
) -> None:
    """Put on record that a lost item was found: where, by whom, in which condition.

    It is quarantined, and a loan that was open ends. Back in service it comes after an inspection or an acceptable check
    (`refstd state`), and when its finding is released.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.lost import FoundDraft, report_found

    values = {"asset_no": asset, "place": place, "condition": condition, "sound": not not_sound}
    values |= {"counts": "; ".join(counts), "part": part, "area": area}
    draft = draft_or_refuse(FoundDraft, values, asset.upper())
    with call.store() as lab:
        numbers = report_found(lab, draft, by=call.who(), now=call.now(lab))
    call.line(
        f'{draft.asset_no} is found and quarantined; inspect or check it, then `refstd state {draft.asset_no} "in service"`'
    )
    for number in numbers:
        call.line(f"finding {number} holds it")
