"""Jobs, setups and examined lots."""

from collections.abc import Callable
from typing import Any

import click

from refstd.cli.call import Call, warn
from refstd.cli.group import Act, Subjects, pass_call

Options = Callable[[Callable[..., Any]], Callable[..., Any]]


def _options(*rows: tuple[str, bool, str]) -> Options:
    """Return options for fields of a record: (field, needed, help). What is left out stays empty."""

    def add(function: Callable[..., Any]) -> Callable[..., Any]:
        for field, needed, text in reversed(rows):
            name = "--" + field.replace("_", "-")
            function = click.option(name, field, required=needed, default=None, metavar="TEXT", help=text)(function)
        return function

    return add


def _given(values: dict[str, str | None]) -> dict[str, str]:
    return {name: value for name, value in values.items() if value is not None}


_DETAILS = (
    ("heat_treatment", False, "Heat treatment of the part."),
    ("part_conductivity_percent_iacs", False, "Conductivity as measured on the part, %IACS."),
    ("coating_mm", False, "Coating as measured, mm."),
    ("shims", False, "The shims that stand for the coating."),
    ("area_length_mm", False, "Area to scan: length, mm."),
    ("area_width_mm", False, "Area to scan: width, mm."),
    ("bores", False, "How many bores."),
    ("bore_depth_mm", False, "Depth of a bore, mm."),
    ("weld_length_mm", False, "Length of weld, mm."),
    ("target_length_mm", False, "Length of the flaw to be found, mm."),
    ("target_depth_mm", False, "Depth of the flaw to be found, mm."),
)


@click.group(cls=Subjects, example='refstd job close J-26-05 --why "all holes examined" --as TAM')
def job() -> None:
    """Open, describe or close a job; `refstd list jobs` shows them, `refstd report job NUMBER` one."""


@job.command(
    "open",
    cls=Act,
    example="refstd job open J-26-05 --procedure ET-AL-01 --parts 'panel 7: holes 1-20; panel 8, zone web' --material AL-2024-T3 --form plate "
    "--frequency-khz 200 --starts-on 2026-03-10 --ends-on 2026-03-13 --as TAM",
)
@click.argument("number", metavar="NUMBER")
@_options(
    ("procedure", True, "Procedure code; its revision in force governs the job."),
    ("parts", True, "Part or tail serials with zone and holes: 'SN-1: holes 1-12, 15; SN-2, zone web'."),
    ("material", True, "Material code of the part."),
    ("form", True, "plate, edge, radius, bore, countersink, weld or layers."),
    ("frequency_khz", True, "Frequency, kHz."),
    ("starts_on", True, "First day, YYYY-MM-DD."),
    ("ends_on", True, "Last day, YYYY-MM-DD."),
    ("bore_diameter_mm", False, "Bore diameter, mm; for holes."),
    ("customer_reference", False, "The customer's own number."),
    ("target_flaw", False, "What is to be found."),
    ("place", False, "Where the work is done."),
    *_DETAILS,
)
@pass_call
def job_open(call: Call, /, number: str, **values: str | None) -> None:
    """Open a job under a procedure."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.job_parts import DetailsDraft
    from refstd.desk.jobs import JobDraft, enter_job

    known = {name: values.pop(name) for name, _, _ in _DETAILS}
    draft = draft_or_refuse(JobDraft, {"number": number, **_given(values)}, f"job {number}")
    details = draft_or_refuse(DetailsDraft, _given(known), f"job {number}")
    with call.store() as lab:
        enter_job(lab, draft, details, by=call.who(), now=call.now(lab))
    call.line(f"job {draft.number} opened")


@job.command(
    "describe",
    cls=Act,
    example='refstd job describe J-26-05 --coating-mm 0.08 --why "measured at three places" --as TAM',
)
@click.argument("number", metavar="NUMBER")
@click.option("--why", required=True, help="Where it is from.")
@_options(*_DETAILS)
@pass_call
def job_describe(call: Call, /, number: str, why: str, **values: str | None) -> None:
    """Put on record what is known now of a job's parts, area and target; what is left out stays as it is.

    An empty text ('') says that it is not known after all.
    """
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.job_parts import DetailsDraft
    from refstd.desk.jobs import describe_job, details_on_record

    with call.store() as lab:
        before = details_on_record(lab, number, call.when(lab))
        draft = draft_or_refuse(DetailsDraft, {**before, **_given(values)}, f"job {number}")
        describe_job(lab, number, draft, why, by=call.who(), now=call.now(lab))
    call.line(f"job {number.upper()} described")


@job.command("close", cls=Act, example='refstd job close J-26-05 --why "all holes examined" --as TAM')
@click.argument("number", metavar="NUMBER")
@click.option("--why", required=True, help="Why it ends.")
@pass_call
def job_close(call: Call, number: str, why: str) -> None:
    """Close a job. Its records stay; lots that no acceptable check has followed are held."""
    from refstd.desk.lots import close_job

    with call.store() as lab:
        held = close_job(lab, number, why, by=call.who(), now=call.now(lab))
    call.line(f"job {number.upper()} closed")
    for finding in held:
        call.line(f"lots without an end check are held by finding {finding}; see `refstd show {finding}`")


@click.command(cls=Act, example="refstd lot J-26-05 --start-check C-0005 --parts 'holes 1-20' --as TAM")
@click.argument("job_number", metavar="JOB")
@click.option(
    "--start-check", required=True, metavar="CHECK", help="The acceptable start check they were examined under."
)
@click.option(
    "--parts",
    required=True,
    help="Parts and holes of the job: 'SN-1: holes 1-12; SN-2'; of its only part, 'holes 1-12'.",
)
@click.option("--zone", default="", help="Zone of the part.")
@click.option("--examined-at", default="", metavar="INSTANT", help="When they were examined; left out: now.")
@click.option("--done-by", default="", metavar="CODE", help="Who examined them, if somebody else enters it.")
@pass_call
def lot(call: Call, /, job_number: str, **given: str) -> None:
    """Log parts as examined since the last check. A lot logged late that no check can cover any more is held at once."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.lots import LotDraft, log_lot

    draft = draft_or_refuse(LotDraft, {"job": job_number, **given}, "examined lot")
    with call.store() as lab:
        logged = log_lot(lab, draft, by=call.who(), now=call.now(lab))
    call.line(f"examined lot {logged.number} logged for job {draft.job}")
    for reason in logged.advice:
        call.line(reason.in_words())
    if logged.finding:
        call.line(f"it is held by finding {logged.finding}: {logged.why}; see `refstd show {logged.finding}`")


@click.command(
    cls=Act,
    example="refstd setup --instrument I-301 --probe P-201 --block B-102 --frequency-khz 200 "
    "--measure 'vertical from balance' --unit '% FSH' --as TAM",
)
@_options(
    ("instrument", True, "Asset number of the instrument."),
    ("probe", True, "Asset number of the probe."),
    ("block", True, "Asset number of the reference block."),
    ("frequency_khz", True, "Frequency, kHz."),
    (
        "measure",
        True,
        "vertical from balance, vertical peak to peak, horizontal and vertical, or amplitude peak to peak.",
    ),
    ("unit", True, "Unit of the readings: div or % FSH."),
    ("number", False, "A number of your own; else the next running number."),
    ("phase_reference", False, "lift-off (unless said otherwise), or the label of a notch."),
    ("second_frequency_khz", False, "Second frequency, kHz."),
    ("mix", False, "Mix of the two frequencies."),
    ("high_pass_hz", False, "High-pass filter, Hz."),
    ("low_pass_hz", False, "Low-pass filter, Hz."),
    ("drive", False, "Probe drive as set."),
    ("covering", False, "Tape or shim between probe and block, with its thickness."),
    ("scan", False, "manual (unless said otherwise) or rotating, which needs rpm and both filters."),
    ("screen", False, "impedance plane (unless said otherwise) or sweep: the amplitude over the rotation."),
    ("rpm", False, "Revolutions a minute; for a rotating scan."),
)
@pass_call
def setup(call: Call, /, **values: str | None) -> None:
    """Put a setup on record: instrument, probe, block, and the conditions that make readings comparable."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.setups import SetupDraft, make_setup

    draft = draft_or_refuse(SetupDraft, _given(values), "setup")
    with call.store() as lab:
        number, warnings = make_setup(lab, draft, by=call.who(), now=call.now(lab))
    for warning in warnings:
        warn(f"warning: {warning}")
    call.line(f"setup {number}")
