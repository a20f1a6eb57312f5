"""Reviewing, approving and withdrawing revisions of procedures."""

import click

from refstd.cli.call import Call
from refstd.cli.group import Act, Subjects, pass_call


@click.group(cls=Subjects, example='refstd procedure approve ET-AL-01 --why "read against the manual" --as GRETA')
def procedure() -> None:
    """Review, approve or withdraw a revision; `refstd add procedures FILE` files one, `refstd show CODE` shows it."""


def _act(call: Call, code: str, issue: str, kind: str, why: str) -> None:
    from refstd.desk.procedure_acts import act_on_procedure

    with call.store() as lab:
        done = act_on_procedure(lab, code, kind, why, issue=issue, by=call.who(), now=call.now(lab))
    call.line(f"procedure {code.upper()} issue {done} {kind}")


_issue = click.option("--issue", default="", help="Which issue; else the one that waits.")


@procedure.command(
    "review", cls=Act, example='refstd procedure review ET-AL-01 --why "every paragraph compared" --as IVO'
)
@click.argument("code", metavar="CODE")
@_issue
@click.option("--why", required=True, help="What was looked at.")
@pass_call
def review(call: Call, code: str, issue: str, why: str) -> None:
    """Review a revision. Never by the one who drafted it."""
    _act(call, code, issue, "reviewed", why)


@procedure.command("approve", cls=Act, example='refstd procedure approve ET-AL-01 --why "fit for use" --as GRETA')
@click.argument("code", metavar="CODE")
@_issue
@click.option("--why", required=True, help="Why it may come into force.")
@pass_call
def approve(call: Call, code: str, issue: str, why: str) -> None:
    """Bring a reviewed revision into force. By a responsible level 3 who did not draft it; jobs opened before keep theirs."""
    _act(call, code, issue, "approved", why)


@procedure.command("withdraw", cls=Act, example='refstd procedure withdraw ET-AL-01 --why "limit in doubt" --as GRETA')
@click.argument("code", metavar="CODE")
@click.option("--issue", default="", help="Which issue; else the one in force.")
@click.option("--why", required=True, help="Why.")
@pass_call
def withdraw(call: Call, code: str, issue: str, why: str) -> None:
    """Take a revision out of force. By a responsible level 3; the one before does not come back, and no start check is taken under it."""
    _act(call, code, issue, "withdrawn", why)
