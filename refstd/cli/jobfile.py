"""The job file: a job's reports, papers and readings in one ZIP that can be checked anywhere."""

from pathlib import Path

import click

from refstd.base.errors import WrongUsage
from refstd.cli.call import Call, day
from refstd.cli.files import write_file
from refstd.cli.group import Question, pass_call


@click.command(
    "job-file",
    cls=Question,
    example=[
        "refstd job-file J-26-04 -o J-26-04.zip",
        "refstd job-file --from 2026-01-01 --to 2026-03-31 --whole-log -o first-quarter.zip --issue --as ANSEL",
    ],
)
@click.argument("jobs", nargs=-1, metavar="[JOB...]")
@click.option("--from", "first", metavar="DATE", help="Instead of jobs: those with a day from here on ...")
@click.option("--to", "last", metavar="DATE", help="... to here.")
@click.option("--whole-log", is_flag=True, help="Also put in the whole log of the lab; it names other jobs too.")
@click.option("-o", "--output", required=True, metavar="FILE", help="Where to write it: a name that ends in .zip.")
@click.option("--issue", is_flag=True, help="Keep in the log that these bytes were issued, by their SHA-256.")
@pass_call
def job_file(
    call: Call, jobs: tuple[str, ...], first: str | None, last: str | None, whole_log: bool, output: str, issue: bool
) -> None:
    """Put all that jobs rested on into one ZIP: reports, readings, papers, the log's checkpoint, sums, an index page.

    Unpacked, it opens in a browser (index.html), and `python3 verify.py` in its folder says whether a file was altered.
    """
    from refstd.reports.jobfile import job_file as made_of
    from refstd.reports.jobfile import jobs_between

    if bool(jobs) == bool(first or last) or bool(first) != bool(last):
        raise WrongUsage("say which jobs", "JOB", "Name jobs, or give a period with --from DATE and --to DATE.")
    path = Path(output)
    if path.suffix.lower() != ".zip":
        raise WrongUsage("a job file is a ZIP", "--output", "End the file's name in .zip.")
    with call.store() as lab:
        when = call.when(lab)
        if first and last:
            jobs = jobs_between(lab, when, day(first, "--from"), day(last, "--to"))
        content = made_of(lab, when, jobs, with_log=whole_log)
        if not issue:
            write_file(path, content)
            call.line(f"wrote {path}: {', '.join(jobs)}")
            return
        from refstd.desk.issuing import issue_report

        by, now = call.who(), call.now(lab)
        digests: list[str] = []
        write_file(path, content, lambda: digests.append(issue_report(lab, path.name, content, by=by, now=now)))
    call.line(f"issued {path}: {', '.join(jobs)}, SHA-256 {digests[0]}")
