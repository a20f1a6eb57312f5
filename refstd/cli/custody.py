"""Kits for a job: which ones suit, taking one out, bringing it back."""

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call, day
from refstd.cli.group import Act, Question, pass_call


@click.command(cls=Question, example="refstd match J-26-05")
@click.argument("job", metavar="JOB")
@pass_call
def match(call: Call, job: str) -> int:
    """Find the kits that suit a job, best first, and say of every other item why not and what would cure it.

    Exit code 0 when at least one kit suits, 1 when none does.
    """
    from refstd.reports.match import match_sheet

    with call.store() as lab:
        sheet = match_sheet(lab, call.when(lab), job)
    call.show(sheet)
    return 0 if sheet.extra["kits"] else 1


@click.command(
    cls=Act,
    example=[
        "refstd checkout J-26-05 B-102 P-201 I-301 --as TAM",
        'refstd checkout J-26-05 B-104 P-201 I-301 --against-advice --by GRETA --why "read beside B-102" --as TAM',
    ],
)
@click.argument("job", metavar="JOB")
@click.argument("assets", nargs=-1, required=True, metavar="ASSET...")
@click.option("--due-back", metavar="DATE", help="Day it comes back; else the job's last day.")
@click.option("--condition", default="as last checked in", show_default=True, help="Condition as it goes out.")
@click.option(
    "--count",
    "counts",
    multiple=True,
    metavar="NAME=COUNT",
    help="Pieces as counted out, such as shim=3, or K-401:shim=3.",
)
@click.option(
    "--against-advice", is_flag=True, help="Somebody with the authority lets it go against advice: --by, --why."
)
@click.option(
    "--by",
    "decided_by",
    default="",
    metavar="CODE",
    help="Who decides it: a responsible level 3, not the one who takes it.",
)
@click.option("--why", default="", help="Why it may go.")
@pass_call
def checkout(
    call: Call,
    job: str,
    assets: tuple[str, ...],
    due_back: str | None,
    condition: str,
    counts: tuple[str, ...],
    against_advice: bool,
    decided_by: str,
    why: str,
) -> None:
    """Take a kit out for a job. All items go out, or none; a refusal names every reason.

    Pieces that an item is described with are counted: give each count. How a kit suits the job a responsible level 3 may
    set aside (--against-advice), with the reason, which stands on each paper after; never what is overdue, held,
    quarantined, lost, failed or not received.
    """
    from refstd.desk.against import Decided
    from refstd.desk.custody import check_out
    from refstd.desk.reservations import advice_on

    if against_advice is not bool(decided_by):
        raise WrongUsage(
            "who decides is named with --against-advice", "--by", "Write --against-advice --by CODE --why REASON."
        )
    decided = Decided(decided_by, why) if against_advice else None
    back = day(due_back, "--due-back") if due_back else None
    with call.store() as lab:
        by = call.who()
        advice = advice_on(lab, job, assets, call.when(lab))
        stay = check_out(
            lab,
            job,
            assets,
            due_back_on=back,
            condition=condition,
            counted=counts,
            against=decided,
            by=by,
            now=call.now(lab),
        )
    if decided:
        call.line(f"against advice, decided by {decided.by.upper()}: {decided.why}")
    out = [a.upper() for a in assets if a.upper() not in stay]
    call.line(f"out to {by} for job {job.upper()}: {', '.join(out)}")
    if stay:
        call.line(f"shared, so at the bench without check-out: {', '.join(stay)}")
    for reason in advice:
        call.line(f"advice: {reason.in_words()}")


@click.command(cls=Question, example=["refstd custody B-102", "refstd custody B-102 --as-at 2026-03-04T15:00"])
@click.argument("assets", nargs=-1, metavar="[ASSET...]")
@pass_call
def custody(call: Call, assets: tuple[str, ...]) -> None:
    """Say who has items, for which job and since when, and who had them before; without items, of all that went out.

    With --as-at: who had them at that instant.
    """
    from refstd.reports.custody import custody_sheet

    with call.store() as lab:
        sheet = custody_sheet(lab, call.when(lab), assets)
    call.show(sheet)


@click.command(cls=Act, example="refstd give B-102 P-201 I-301 --to WREN --as TAM")
@click.argument("assets", nargs=-1, required=True, metavar="ASSET...")
@click.option("--to", "to", required=True, metavar="CODE", help="Who has them from now on.")
@click.option("--condition", default="as handed out", show_default=True, help="Condition at the hand-over.")
@pass_call
def give(call: Call, assets: tuple[str, ...], to: str, condition: str) -> None:
    """Hand items that are out over to another person, for the same job. All go on, or none."""
    from refstd.desk.custody import hand_over

    with call.store() as lab:
        hand_over(lab, assets, to, condition=condition, by=call.who(), now=call.now(lab))
    call.line(f"with {to.upper()} now: {', '.join(a.upper() for a in assets)}")


@click.command(
    cls=Act,
    example=[
        "refstd checkin B-102 P-201 I-301 --as TAM",
        'refstd checkin K-403 --count shim=2 --part SN-1 --area "left web" --as TAM',
        'refstd checkin P-201 --not-sound --condition "tip worn flat" --as TAM',
    ],
)
@click.argument("assets", nargs=-1, required=True, metavar="ASSET...")
@click.option("--not-sound", is_flag=True, help="It came back damaged or in doubt: a finding holds it.")
@click.option("--condition", default="", help="Condition as it comes back; needed with --not-sound.")
@click.option(
    "--count",
    "counts",
    multiple=True,
    metavar="NAME=COUNT",
    help="Pieces as counted in, such as shim=3, or K-401:shim=3.",
)
@click.option("--part", default="", help="Where a count does not agree: the aircraft or part to look at.")
@click.option("--area", default="", help="And the area of it.")
@pass_call
def checkin(
    call: Call,
    assets: tuple[str, ...],
    not_sound: bool,
    condition: str,
    counts: tuple[str, ...],
    part: str,
    area: str,
) -> None:
    """Take items back with their condition. What is not sound is held by a finding.

    Pieces that were counted out are counted in. Where a count does not agree, a finding holds the item and the lots of
    its job until somebody with the authority signs it off.
    """
    from refstd.desk.custody import check_in

    with call.store() as lab:
        numbers = check_in(
            lab,
            assets,
            sound=not not_sound,
            condition=condition or ("" if not_sound else "sound"),
            counted=counts,
            part=part,
            area=area,
            by=call.who(),
            now=call.now(lab),
        )
    call.line(f"back: {', '.join(a.upper() for a in assets)}")
    for number in numbers:
        call.line(f"finding {number} holds it")
