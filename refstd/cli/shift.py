"""The hand-over of a job to the next shift."""

import click

from refstd.cli.call import Call
from refstd.cli.group import Act, pass_call


@click.command(
    cls=Act,
    example=[
        "refstd handover J-26-05 --to WREN --as TAM",
        'refstd handover J-26-05 --to WREN --no-check-possible "probe broken at hole 14" --as TAM',
    ],
)
@click.argument("job", metavar="JOB")
@click.option("--to", "to", required=True, metavar="CODE", help="Who goes on with the job.")
@click.option(
    "--no-check-possible",
    "impossible",
    default="",
    metavar="WHY",
    help="Why no closing check can be made; its lots are held.",
)
@click.option("--condition", default="as handed out", show_default=True, help="Condition of the equipment.")
@click.option("--note", default="", help="What the next one should know.")
@pass_call
def handover(call: Call, /, **given: str) -> None:
    """Hand a job over to the next person: closing check, lots since, open holds and equipment, in one act.

    The end check of each setup at work comes first; without it this is refused. The next person begins with a start check.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.shifts import ShiftDraft, hand_shift_over

    draft = draft_or_refuse(ShiftDraft, given, "hand-over")
    with call.store() as lab:
        done = hand_shift_over(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"job {done.job} handed over by {done.person} to {done.to}: {', '.join(done.items)} ({done.condition})")
    call.line(f"closing check: {done.closed_by}")
    call.line(f"lots since: {done.lots_since}")
    call.line(f"open holds: {done.open_holds}")
    call.line(f"next: start check by {done.to} before anything more is examined")
