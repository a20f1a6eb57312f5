"""May this equipment be relied on: status, due, drift, and what a failure leaves in doubt."""

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call
from refstd.cli.group import Question, pass_call
from refstd.cli.words import write_lines, write_verdict


@click.command(cls=Question, example=["refstd status B-102", "refstd status B-102 P-201 I-301 --procedure ET-AL-01"])
@click.argument("assets", nargs=-1, required=True, metavar="ASSET...")
@click.option("--procedure", default="", metavar="CODE", help="For this procedure; else for any.")
@pass_call
def status(call: Call, assets: tuple[str, ...], procedure: str) -> int:
    """Say whether items may be relied on, with every reason; several items also get a verdict together.

    Exit code: 0 serviceable, 5 limited use, 1 do not use; of several, the worst.
    """
    from refstd.desk.serviceability import CAUTION, EXIT_OF, Standing, kit_status
    from refstd.desk.serviceability import status as status_of
    from refstd.reports.status import status_sheet

    with call.store() as lab:
        when = call.when(lab)
        verdicts = [s.verdict for s in status_of(lab, assets, when, procedure)]
        together = kit_status(lab, assets, when, procedure) if len(verdicts) > 1 else None
        sheet = status_sheet(lab, when, assets, procedure) if call.json else None
    if sheet is not None:
        call.show(sheet)
    else:
        for verdict in verdicts:
            write_verdict(call, verdict.subject, verdict)
        if together is not None:
            write_verdict(call, "together", together)
        call.line(CAUTION)
    found = {v.standing for v in [*verdicts, *([together] if together else [])]}
    worst = next(s for s in (Standing.DO_NOT_USE, Standing.LIMITED_USE, Standing.SERVICEABLE) if s in found)
    return int(EXIT_OF[worst])


@click.command(cls=Question, example=["refstd due --within 30", "refstd due --json --today 2026-06-01"])
@click.option(
    "--within", type=click.IntRange(0, 36_500), metavar="DAYS", help="Only what falls due by then, and what is late."
)
@pass_call
def due(call: Call, within: int | None) -> None:
    """List what is due, most urgent first, with the source of each interval."""
    from refstd.reports.due import due_sheet

    with call.store() as lab:
        sheet = due_sheet(lab, call.when(lab), within)
    call.show(sheet)


@click.command(cls=Question, example=["refstd recall", "refstd recall --months 12 --json"])
@click.option(
    "--months",
    type=click.IntRange(0, 60),
    default=3,
    metavar="N",
    help="To the end of so many months after this one; 3 unless said otherwise.",
)
@pass_call
def recall(call: Call, months: int) -> None:
    """List what to send to which laboratory by which day, the load by month, and what sending it leaves without.

    A warning names the job or the material that would be left without a block, probe or instrument that serves it.
    """
    from refstd.reports.recall import recall_sheet

    with call.store() as lab:
        sheet = recall_sheet(lab, call.when(lab), months)
    call.show(sheet)


@click.command(cls=Question, example=["refstd drift", "refstd drift --setup S-0001 --json"])
@click.option("--setup", default="", metavar="NUMBER", help="Only this setup; else every one with a baseline.")
@pass_call
def drift(call: Call, setup: str) -> None:
    """List how set-ups moved away from their baselines, notch by notch, in dB, and what stands out."""
    from refstd.reports.drift import drift_sheet

    with call.store() as lab:
        sheet = drift_sheet(lab, call.when(lab), setup)
    call.show(sheet)


@click.command(cls=Question, example=["refstd suspects", "refstd suspects --as-at 2026-01-31 --json"])
@pass_call
def suspects(call: Call) -> None:
    """Say which instrument, probe, block or notch moved, or everything at once, and how good the evidence is."""
    from refstd.reports.suspects import suspects_sheet

    with call.store() as lab:
        sheet = suspects_sheet(lab, call.when(lab))
    call.show(sheet)


@click.command(
    cls=Question,
    example=[
        "refstd lookback F-0001",
        "refstd lookback C-0042",
        "refstd lookback --item B-104 --from 2026-01-01 --to 2026-02-28",
        "refstd lookback --job J-26-02",
    ],
)
@click.argument("number", metavar="[FINDING-or-CHECK]", required=False, default="")
@click.option("--item", default="", metavar="ASSET", help="From an item: all lots, jobs, checks, papers of a period.")
@click.option(
    "--from", "since", default="", metavar="DATE", help="First day of the period; left out: from the first record."
)
@click.option("--to", "until", default="", metavar="DATE", help="Last day of the period; left out: until now.")
@click.option(
    "--job", default="", metavar="NUMBER", help="From a job: each item, its papers and its checks, day by day."
)
@pass_call
def lookback(call: Call, number: str, item: str, since: str, until: str, job: str) -> int:
    """Say what a finding, or the finding of a failed check, leaves in doubt: held items and setups, lots, the period.

    With --item or --job it begins without a finding: where an item was used, or what a job rested on.

    Exit code 1 while something is held, 0 when nothing is; with --item and --job always 0.
    """
    if sum(1 for asked in (number, item, job) if asked) != 1:
        raise WrongUsage("a look-back begins with one thing", "", "Name a finding or a check, or --item, or --job.")
    if (since or until) and not item:
        raise WrongUsage("a period belongs to an item", "--from, --to", "Name the item with --item.")
    if not number:
        from refstd.reports.reach import item_work_sheet, job_basis_sheet

        with call.store() as lab:
            when = call.when(lab)
            sheet = item_work_sheet(lab, when, item, since, until) if item else job_basis_sheet(lab, when, job)
        call.show(sheet)
        return 0
    from refstd.desk.lookback import lookback as lookback_of
    from refstd.printing.local import in_zone
    from refstd.reports.heading import instant

    with call.store() as lab:
        when = call.when(lab)
        found = lookback_of(lab, number, when)
    f = found.finding
    held = () if f.released else f.holds()
    if call.json:
        call.show_json(
            {
                "schema": "refstd.lookback/1", "as_at": found.as_at, "log_sequence": found.log_sequence, "finding": f.number,
                "cause": f.cause, "says": f.says, "check": f.check, "released": f.released, "held": list(held),
                "from": instant(found.since), "from_record": found.since_record, "to": instant(found.until),
                "rows": [
                    {"lot": x.number, "job": x.job, "start_check": x.start_check, "parts": [p.as_dict() for p in x.named],
                     "person": x.person, "examined_at": instant(x.happened_at)}
                    for x in found.lots
                ],
                "jobs": list(found.jobs),
                "checks": [
                    {"check": c.number, "happened_at": instant(c.happened_at), "occasion": c.occasion, "setup": c.setup, "job": c.job,
                     "outcome": c.outcome}
                    for c in found.checks
                ],
                "comparisons": [
                    {"comparison": c.number, "happened_at": instant(c.happened_at), "secondary": c.secondary, "outcome": c.outcome}
                    for c in found.comparisons
                ],
            }
        )  # fmt: skip
        return 1 if held else 0
    call.line(f"finding {f.number} ({f.cause}): {f.says}", strong=True)
    call.line(f"in doubt: {found.period_in_words(lambda moment: in_zone(instant(moment), found.zone))}")
    lots = [f"{x.number}, job {x.job}, {x.examined}, by {x.person}" for x in found.lots]
    write_lines(call, "lots examined in that period", lots or ["none on record"])
    write_lines(call, "checks made in that period", [c.in_words() for c in found.checks])
    write_lines(call, "blocks compared with it in that period", [c.in_words() for c in found.comparisons])
    write_lines(call, "held until released", held)
    write_lines(call, "done about it", [f"{a.kind} by {a.person}: {a.says}" for a in f.actions])
    call.line("checks within that period are evidence for the decision; they do not shorten it")
    if not held:
        call.line("nothing is held any more")
    return 1 if held else 0
