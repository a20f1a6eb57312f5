"""The guided swap test: begin from a deviation, make its steps, read what they say."""

from typing import TYPE_CHECKING

import click

from refstd.base.errors import BadInput, Exit, Problem, Refusal
from refstd.cli.call import Call
from refstd.cli.files import content_of_file
from refstd.cli.group import Answering, Question, Subjects, pass_call
from refstd.cli.words import check_as_json, write_check, write_lines

if TYPE_CHECKING:
    from refstd.desk.swaps import PlannedStep, StepShown, SwapShown
    from refstd.exchange.readings import ReadingSetDraft


@click.group(cls=Subjects, example='refstd swap start C-0042 --notch "0.5 mm" --as TAM')
def swap() -> None:
    """Find out which of instrument, probe, notch or cable moved: exchange one at a time, and see what the deviation does.

    A swap test advises: it holds nothing, frees nothing and covers no work.
    """


@swap.command(
    "start", cls=Answering, example='refstd swap start C-0042 --notch "0.5 mm" --why "low since Monday" --as TAM'
)
@click.argument("check", metavar="CHECK")
@click.option("--notch", required=True, metavar="LABEL", help="The notch that lies off its baseline.")
@click.option("--why", default="", help="What brought you here.")
@pass_call
def start(call: Call, check: str, notch: str, why: str) -> None:
    """Begin a swap test from a check that lies off its baseline, and say what to exchange first."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.swaps import SwapDraft, start_swap

    draft = draft_or_refuse(SwapDraft, {"check": check, "notch": notch, "why": why}, "swap test")
    with call.store() as lab:
        found = start_swap(lab, draft, by=call.who(), now=call.now(lab))
    if call.json:
        call.show_json({"schema": "refstd.swap/1", **_swap_as_json(found)})
    else:
        _write_swap(call, found)


@swap.command(
    "step",
    cls=Answering,
    example=[
        "refstd swap step W-0001 cable today.csv --cable A-2 --as TAM",
        "refstd swap step W-0001 probe today.csv --setup S-0007 --as TAM",
    ],
)
@click.argument("number", metavar="SWAP")
@click.argument("exchanged", metavar="THING")
@click.argument("readings", metavar="READINGS")
@click.option("--setup", default="", metavar="NUMBER", help="The setup with the other thing; else the one proposed.")
@click.option("--cable", default="", metavar="ASSET", help="The other cable, where it has a number.")
@pass_call
def step(call: Call, number: str, exchanged: str, readings: str, setup: str, cable: str) -> int:
    """Keep the check made with one THING exchanged (cable, probe, block, instrument), and say what the deviation did.

    READINGS is a file as for `refstd check`, one set; '-' is standard input. Everything else stays as it was first.

    Exit code: 0 the deviation stayed or went, 6 it cannot be told.
    """
    from refstd.desk.store import When
    from refstd.desk.swaps import record_step, swap_shown

    with call.store() as lab:
        now = call.now(lab)
        before = swap_shown(lab, number, When(now))
        at = setup or _proposed(before, exchanged.strip().casefold())
        made = _one_set(readings, {"setup": at, "procedure": before.procedure, "occasion": "swap test", "cable": cable})
        kept = record_step(lab, number, exchanged, made.check, made.readings, by=call.who(), now=now)
    code = int(Exit.NOT_CONCLUSIVE if kept.step.result == "cannot tell" else Exit.YES)
    if call.json:
        members = {"step": _step_as_json(kept.step), "check": check_as_json(kept.verdict)}
        call.show_json({"schema": "refstd.swap_step/1", **members, **_swap_as_json(kept.swap)})
        return code
    write_check(call, kept.verdict)
    call.line()
    call.line(f"{exchanged.strip().casefold()} exchanged: {kept.step.says}", strong=True)
    _write_swap(call, kept.swap)
    return code


@swap.command("show", cls=Question, example="refstd swap show W-0001")
@click.argument("number", metavar="SWAP")
@pass_call
def show(call: Call, number: str) -> None:
    """Show a swap test: what is suspected and why, the steps with their checks, what they say, and what comes next."""
    from refstd.desk.swaps import swap_shown

    with call.store() as lab:
        found = swap_shown(lab, number, call.when(lab))
    if call.json:
        call.show_json({"schema": "refstd.swap/1", **_swap_as_json(found)})
    else:
        _write_swap(call, found)


@swap.command("list", cls=Question, example="refstd swap list")
@pass_call
def list_(call: Call) -> None:
    """List the swap tests, newest first, one row a step."""
    from refstd.reports.swaps import swaps_sheet

    with call.store() as lab:
        sheet = swaps_sheet(lab, call.when(lab))
    call.show(sheet)


def _proposed(swap: "SwapShown", thing: str) -> str:
    """Return the setup that the plan proposes for a thing, or refuse with what is missing; a cable changes no setup."""
    if thing == "cable":
        return swap.setup
    planned = next((p for p in swap.plan if p.exchanged == thing), None)
    if planned is None or planned.partners:
        return planned.partners[0].setup if planned else swap.setup
    raise Refusal(planned.missing, swap.number, f"See `refstd swap show {swap.number}`.")


def _one_set(readings: str, given: dict[str, str]) -> "ReadingSetDraft":
    from refstd.exchange.readings import readings_from

    name, content = content_of_file(readings)
    sets = readings_from(name, content, {k: v for k, v in given.items() if v})
    if len(sets) != 1:
        raise BadInput("readings", [Problem("set", f"there are {len(sets)}; a step has one", "Make each step apart.")])
    return sets[0]


def _write_swap(call: Call, s: "SwapShown") -> None:
    from refstd.desk.serviceability import CAUTION

    call.line(f"swap test {s.number}: check {s.check}, setup {s.setup}, notch {s.notch}, by {s.person}", strong=True)
    if s.why:
        call.line(f"why: {s.why}")
    call.line(s.deviation.in_words())
    call.line(f"suspected: {s.suspected}")
    write_lines(call, "steps", [_step_in_words(x) for x in s.steps])
    call.line(f"{s.headline()} → {s.conclusion.cure}" if not s.void else s.void, strong=True)
    write_lines(call, "confirm it with", s.confirm)
    if s.ended:
        call.line(f"no further step: {s.ended}")
    if s.next is not None:
        call.line(f"next: {s.next.do}")
        call.line(f"  if the deviation goes: {s.next.if_it_goes}")
        call.line(f"  if it stays: {s.next.if_it_stays}")
    write_lines(
        call, "cannot be exchanged", [f"{p.exchanged}: {p.missing}" for p in s.plan if p.missing and not p.told]
    )
    call.line("A swap test advises: it holds nothing, frees nothing and covers no work.")
    call.line(CAUTION)


def _step_in_words(x: "StepShown") -> str:
    void = "" if x.counts else f"COUNTS NO LONGER, corrected by {x.corrected_by}: "
    return f"{void}{x.exchanged}, {x.instead} in its place, check {x.check} by {x.person}: {x.says}"


def _swap_as_json(s: "SwapShown") -> dict[str, object]:
    from refstd.desk.serviceability import CAUTION
    from refstd.reports.heading import instant

    return {
        "swap": s.number, "from_check": s.check, "setup": s.setup, "notch": s.notch, "procedure": s.procedure, "person": s.person,
        "begun_at": instant(s.happened_at), "why": s.why, "suspected": s.suspected, "deviation": s.deviation.as_dict(),
        "steps": [_step_as_json(x) for x in s.steps], "conclusion": s.headline(), "do": "" if s.void else s.conclusion.cure,
        "left": list(s.conclusion.left), "settled": s.conclusion.settled and not s.void, "confirm": list(s.confirm), "ended": s.ended,
        "next": _planned_as_json(s.next) if s.next else None, "plan": [_planned_as_json(p) for p in s.plan], "caution": CAUTION,
    }  # fmt: skip


def _step_as_json(x: "StepShown") -> dict[str, object]:
    from refstd.reports.heading import instant

    return {
        "exchanged": x.exchanged, "instead": x.instead, "setup": x.setup, "check": x.check, "result": x.result, "says": x.says,
        "person": x.person, "happened_at": instant(x.happened_at), "counts": x.counts, "corrected_by": x.corrected_by,
    }  # fmt: skip


def _planned_as_json(p: "PlannedStep") -> dict[str, object]:
    return {
        "exchanged": p.exchanged, "do": p.do, "setups": [x.setup for x in p.partners], "missing": p.missing,
        "if_it_goes": p.if_it_goes, "if_it_stays": p.if_it_stays, "results": list(p.results),
    }  # fmt: skip
