"""How verdicts and reasons are written out and given as JSON: verbatim, in one shape everywhere."""

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from refstd.base.reason import Reason
from refstd.cli.call import Call

if TYPE_CHECKING:
    from refstd.desk.checks import CheckVerdict
    from refstd.desk.serviceability import Verdict


def write_reasons(call: Call, heading: str, reasons: Iterable[Reason]) -> None:
    """Write reasons under a heading, one line each; nothing for none."""
    write_lines(call, heading, [r.in_words() for r in reasons])


def write_lines(call: Call, heading: str, lines: Sequence[str]) -> None:
    """Write lines under a heading; nothing for none."""
    if not lines:
        return
    call.line(f"{heading}:")
    for line in lines:
        call.line(f"  {line}")


def write_verdict(call: Call, title: str, verdict: "Verdict") -> None:
    """Write a serviceability verdict with all its reasons."""
    headline, *reasons = verdict.in_words()
    call.line(f"{title}: {headline}", strong=True)
    for reason in reasons:
        call.line(f"  {reason}")


def verdict_as_json(verdict: "Verdict") -> dict[str, object]:
    """Return a verdict as JSON has it."""
    return {
        "verdict": str(verdict.standing), "headline": verdict.headline(), "struck": list(verdict.struck),
        "reasons": reasons_as_json(verdict.reasons),
    }  # fmt: skip


def reasons_as_json(reasons: Iterable[Reason]) -> list[dict[str, str]]:
    """Return reasons as JSON has them."""
    return [r.as_dict() for r in reasons]


def write_check(call: Call, check: "CheckVerdict") -> None:
    """Write what a response check says: outcome, reasons, condition, what to do, what is held, whom to tell."""
    from refstd.desk.serviceability import CAUTION

    job = f", job {check.job}" if check.job else ""
    call.line(
        f"check {check.number}, {check.occasion}, setup {check.setup}{job}, by {check.person}{', ' + check.late if check.late else ''}"
    )
    call.line(check.headline(), strong=True)
    if check.repeats:
        call.line(f"repeats check {check.repeats}; both are kept")
    write_reasons(call, "the procedure's limits", check.reasons)
    write_reasons(call, "condition of the equipment (does not decide the job)", check.condition)
    write_reasons(call, "the items themselves", check.kit)
    write_lines(call, "what to do", check.do)
    write_lines(call, "held", check.held)
    if check.finding:
        call.line(f"finding: {check.finding}")
    if check.tell:
        call.line(f"tell: {check.tell}")
    if check.covers:
        call.line(f"covers: {check.ended or check.covers}")
    call.line(CAUTION)


def check_as_json(check: "CheckVerdict") -> dict[str, object]:
    """Return a response check as JSON has it."""
    from refstd.desk.serviceability import CAUTION
    from refstd.reports.heading import instant

    return {
        "check": check.number, "occasion": check.occasion, "setup": check.setup, "job": check.job,
        "happened_at": instant(check.happened_at), "person": check.person, "outcome": check.outcome,
        "headline": check.headline(), "reasons": reasons_as_json(check.reasons), "condition": reasons_as_json(check.condition),
        "kit": reasons_as_json(check.kit), "do": list(check.do), "held": list(check.held), "tell": check.tell,
        "covers": check.covers, "finding": check.finding, "repeats": check.repeats, "late": check.late, "rules_version": check.rules_version,
        "caution": CAUTION,
    }  # fmt: skip
