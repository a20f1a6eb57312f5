"""Reserving equipment for a job weeks ahead, and where there will not be enough."""

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Act, Question, pass_call


@click.command(
    cls=Act,
    example=[
        "refstd reserve J-26-05 --item B-110 --from 2026-03-16 --to 2026-03-20 --as ORLA",
        "refstd reserve J-26-05 --kind probe --as ORLA",
        'refstd reserve --cancel R-0001 --why "job put off" --as ORLA',
    ],
)
@click.argument("job", metavar="JOB", default="")
@click.option("--item", default="", metavar="ASSET", help="This very item.")
@click.option("--kind", default="", metavar="KIND", help="Any block, probe or instrument that suits the job.")
@click.option("--from", "first", default="", metavar="DATE", help="First day; else the job's.")
@click.option("--to", "last", default="", metavar="DATE", help="Last day; else the job's.")
@click.option("--note", default="", metavar="WORDS", help="What whoever reads it should know.")
@click.option("--cancel", "cancelled", default="", metavar="NUMBER", help="Cancel this reservation.")
@click.option("--why", default="", help="Why it is cancelled.")
@pass_call
def reserve(
    call: Call, job: str, item: str, kind: str, first: str, last: str, note: str, cancelled: str, why: str
) -> None:
    """Reserve an item, or one of a kind that suits, for a job over days; or cancel a reservation.

    Where there will not be enough it is said at once, and stands under `refstd shortages`; nothing is refused for it.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.reservations import ReservationDraft, cancel
    from refstd.desk.reservations import reserve as reserve_for

    if bool(job) is bool(cancelled):
        raise WrongUsage("name a job, or a reservation to cancel", "", "Write `refstd reserve JOB …` or `refstd reserve --cancel NUMBER`.")  # fmt: skip
    with call.store() as lab:
        if cancelled:
            cancel(lab, cancelled, why, by=call.who(), now=call.now(lab))
            call.line(f"reservation {cancelled.upper()} is cancelled")
            return
        values = {"job": job, "item": item, "kind": kind, "starts_on": first, "ends_on": last, "note": note}
        draft = draft_or_refuse(ReservationDraft, values, f"reservation for {job.upper()}")
        number, short = reserve_for(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"reservation {number} for job {draft.job}: {draft.item or draft.kind}")
    for s in short:
        call.line(f"short: {s.in_words()}")


@click.command(cls=Question, example="refstd shortages")
@pass_call
def shortages(call: Call) -> int:
    """List where jobs will be without: several need the same items, or what they need falls due or is not usable.

    Exit code 0 when nothing is short, 1 when something is.
    """
    from refstd.reports.reservations import shortages_sheet

    with call.store() as lab:
        sheet = shortages_sheet(lab, call.when(lab))
    call.show(sheet)
    return 1 if sheet.rows else 0
