"""`refstd`: opens the screens, or runs one command."""

import click

from refstd import __version__
from refstd.cli.call import Call
from refstd.cli.group import LazyGroup, common_options, pass_call

_TABLE = {
    "The store": {
        "demo": ("refstd.cli.demo", "demo", "Build the sample lab, print its path, open it."),
        "init": ("refstd.cli.store", "init", "Make a new store with its first custodian."),
        "verify": ("refstd.cli.store", "verify", "See whether the store is whole and holds what was recorded."),
        "checkpoint": ("refstd.cli.checkpoint", "checkpoint", "Write the log's head to a file, signed if you have a key."),
        "backup": ("refstd.cli.store", "backup", "Make a backup and check it."),
        "restore": ("refstd.cli.store", "restore", "Put a checked backup in the store's place."),
        "migrate": ("refstd.cli.store", "migrate", "Bring an older store to this form, with a backup first."),
        "selftest": ("refstd.cli.selftest", "selftest", "Hold this installation against published values; a sheet to sign."),
        "doctor": ("refstd.cli.store", "doctor", "Look at program, file and folder, and say what to do."),
    },
    "May this equipment be relied on": {
        "status": ("refstd.cli.verdicts", "status", "Say whether items may be relied on, and why not."),
        "due": ("refstd.cli.verdicts", "due", "List what is due, most urgent first."),
        "recall": ("refstd.cli.verdicts", "recall", "List what to send where, and what that leaves without."),
        "drift": ("refstd.cli.verdicts", "drift", "List how set-ups moved away from their baselines."),
        "suspects": ("refstd.cli.verdicts", "suspects", "Say which item moved, by the evidence over the whole lab."),
        "intervals": ("refstd.cli.intervals", "intervals", "Say which other interval the certificates speak for."),
        "lookback": ("refstd.cli.verdicts", "lookback", "Say what a finding or a failed check leaves in doubt."),
    },
    "Jobs and kits": {
        "match": ("refstd.cli.custody", "match", "Find the kits that suit a job, and why others do not."),
        "reserve": ("refstd.cli.reserving", "reserve", "Reserve equipment for a job weeks ahead, or cancel it."),
        "shortages": ("refstd.cli.reserving", "shortages", "List where jobs will be without equipment."),
        "checkout": ("refstd.cli.custody", "checkout", "Take a kit out for a job: all of it, or nothing."),
        "checkin": ("refstd.cli.custody", "checkin", "Take items back with their condition."),
        "give": ("refstd.cli.custody", "give", "Hand items that are out over to another person."),
        "lost": ("refstd.cli.lost", "lost", "Put on record that an item is lost, and who was told."),
        "found": ("refstd.cli.lost", "found", "Put on record that a lost item was found."),
        "handover": ("refstd.cli.shift", "handover", "Hand a job in hand over to the next shift, with all that belongs to it."),
        "custody": ("refstd.cli.custody", "custody", "Say who has items, or had them at any past instant."),
        "job": ("refstd.cli.work", "job", "Open or close a job."),
        "lot": ("refstd.cli.work", "lot", "Log parts as examined under a start check."),
    },
    "Response checks": {
        "setup": ("refstd.cli.work", "setup", "Put a setup on record: instrument, probe, block, conditions."),
        "baseline": ("refstd.cli.checking", "baseline", "Freeze a baseline from independent set-ups."),
        "check": ("refstd.cli.checking", "check", "Record a response check and say what it means."),
        "compare": ("refstd.cli.compare", "compare", "Compare a secondary block with its primary."),
        "event": ("refstd.cli.happening", "event", "Record what may have changed how an item answers."),
        "finding": ("refstd.cli.findings", "finding", "Open, note, decide or release a finding."),
        "swap": ("refstd.cli.swap", "swap", "Exchange one thing at a time to see which moved."),
    },
    "The register": {
        "list": ("refstd.cli.register", "list_", "List blocks, probes, people, jobs, checks and more."),
        "show": ("refstd.cli.register", "show", "Show everything about one number."),
        "add": ("refstd.cli.register", "add", "Enter records of one kind from a CSV file."),
        "correct": ("refstd.cli.correcting", "correct", "Correct a check, a certificate, an item, an event, a person's papers."),
        "state": ("refstd.cli.register", "state", "Put an item into a state, with the reason."),
        "schedule": ("refstd.cli.owing", "schedule", "Set what an item owes, by calendar, by use or once."),
        "tolerance": ("refstd.cli.tolerance", "tolerance", "Set the limits of an item's certified value, and the rule."),
        "defer": ("refstd.cli.owing", "defer", "Defer a due date before it has passed, with an end."),
        "review": ("refstd.cli.intervals", "review", "Take or turn down a proposed interval."),
        "receive": ("refstd.cli.receive", "receive", "Inspect an item on receipt and put it in service."),
        "order-test": ("refstd.cli.order", "order_test", "Find which of rotation and gain an instrument applies first."),
    },
    "Procedures": {
        "procedure": ("refstd.cli.procedure", "procedure", "Review, approve or withdraw a procedure's revision."),
    },
    "Reports and exchange": {
        "find": ("refstd.cli.searching", "find", "Find records by words."),
        "log": ("refstd.cli.searching", "log", "Show who recorded what, newest first."),
        "paper": ("refstd.cli.searching", "paper", "Write an attached paper, or the scan of a check's sheet, to a file."),
        "report": ("refstd.cli.reporting", "report", "Write a report to a file, by the file's ending."),
        "job-file": ("refstd.cli.jobfile", "job_file", "Put all that jobs rested on into one ZIP that can be checked anywhere."),
        "labels": ("refstd.cli.labels", "labels", "Print labels with a code for items."),
        "calendar": ("refstd.cli.calendar", "calendar", "Write the due dates as a calendar to subscribe to."),
        "import": ("refstd.cli.exchanging", "import_", "Read CSV files into the register: all of it, or nothing."),
        "export": ("refstd.cli.exchanging", "export", "Write the register and its records as CSV files."),
    },
}  # fmt: skip

_EXIT_CODES = """\b
Exit codes:
  0  yes, or done              5  limited use
  1  answered no               6  not conclusive
  2  wrong usage or data      70  unexpected fault
  3  refused by a rule       130  interrupted
  4  the store can't be used

\b
Example:
  refstd demo --build-only
  refstd --db demo.refstd due --within 30

refstd advises; the written procedure, local rules and certified personnel decide."""


@click.group(
    cls=LazyGroup,
    table=_TABLE,
    invoke_without_command=True,
    epilog=_EXIT_CODES,
    context_settings={"help_option_names": ["--help"], "max_content_width": 100},
)
@click.version_option(__version__, message="refstd %(version)s")
@pass_call
@click.pass_context
def refstd(ctx: click.Context, call: Call) -> int:
    """Keep the equipment that an eddy-current surface inspection rests on, and see whether it may be relied on.

    Without a command, refstd opens its screens.
    """
    if ctx.invoked_subcommand is not None:
        return 0
    from refstd.cli.screens import open_screens, refuse_without_terminal

    refuse_without_terminal("Run a command instead, such as `refstd due`; see `refstd --help`.")
    return open_screens(call)


refstd.params += common_options()
