"""Comparing a secondary block with its primary, from a file of scans."""

from typing import TYPE_CHECKING

import click

from refstd.cli.call import Call
from refstd.cli.files import content_of_file
from refstd.cli.group import Answering, pass_call

if TYPE_CHECKING:
    from refstd.desk.comparison_record import ComparisonShown
    from refstd.desk.comparisons import Compared


@click.command(
    cls=Answering,
    example=[
        'refstd compare B-101 B-110 scans.csv --band-db 1.0 --band-source "PR-7, 5.2" --as TAM',
        "refstd compare B-101 B-110 - --preview < scans.csv",
        'refstd compare B-101 B-110 again.csv --corrects CB-0003 --why "8 read as 9" --as TAM',
    ],
)
@click.argument("primary", metavar="PRIMARY")
@click.argument("secondary", metavar="SECONDARY")
@click.argument("scans", metavar="SCANS")
@click.option("--instrument", default="", metavar="ASSET", help="Else the file's own column; so for all below.")
@click.option("--probe", default="", metavar="ASSET", help="The probe.")
@click.option("--cable", default="", metavar="ASSET", help="The cable.")
@click.option("--frequency-khz", default="", metavar="KHZ", help="The frequency, kHz.")
@click.option("--band-db", default="", metavar="DB", help="By how much the amplitudes may differ, ± dB.")
@click.option(
    "--band-deg", default="", metavar="DEG", help="By how much the phases may differ, ±°; left out: not judged."
)
@click.option("--band-source", default="", metavar="TEXT", help="Where the band comes from: procedure and paragraph.")
@click.option("--corrects", default="", metavar="NUMBER", help="The comparison that this one corrects.")
@click.option("--why", default="", help="The reason of a correction.")
@click.option("--preview", is_flag=True, help="Say what the scans say; keep nothing.")
@pass_call
def compare(
    call: Call, /, primary: str, secondary: str, scans: str, corrects: str, why: str, preview: bool, **given: str
) -> int:
    """Compare a secondary block with its primary (CSV; '-' is standard input): same system, same day, equal settings.

    One row a scan, in the order in which they were made: block (A primary, B secondary), notch, horizontal, vertical. Each
    notch goes A-B-A, or A-B-A-B-A; every notch of the secondary is read. Further columns, in the first row alone:
    instrument, probe, cable, frequency_khz, measure, unit, rotation_deg, horizontal_gain_db, vertical_gain_db, noise, band_db,
    band_deg, band_source, happened_at, note.

    Exit code: 0 agrees, 1 does not agree (the block is held), 6 not conclusive (which counts as none).
    """
    from refstd.desk.comparison_record import comparison
    from refstd.desk.comparisons import compare_blocks, preview_comparison
    from refstd.desk.store import When
    from refstd.exchange.scans import scans_from

    name, content = content_of_file(scans)
    draft, taken = scans_from(name, content, {"primary": primary, "secondary": secondary, **given})
    with call.store() as lab:
        now = call.now(lab)
        said = preview_comparison(lab, draft, taken, When(now))
        if preview:
            _write_preview(call, said)
            return said.exit_code
        number = compare_blocks(lab, draft, taken, supersedes=corrects, why=why, by=call.who(), now=now)
        shown = comparison(lab, number, When(now))
    if call.json:
        call.show_json({"schema": "refstd.comparison/1", **comparison_as_json(shown)})
    else:
        write_comparison(call, shown)
    return said.exit_code


def _write_preview(call: Call, said: "Compared") -> None:
    from refstd.cli.words import reasons_as_json, write_reasons

    if call.json:
        rows = [
            {"notch": n.notch, "outcome": str(n.outcome), "reasons": reasons_as_json(n.reasons)} for n in said.notches
        ]
        call.show_json({"schema": "refstd.comparison_preview/1", "outcome": str(said.outcome), "notches": rows})
        return
    call.line(f"{said.outcome} (a preview; nothing was kept)", strong=True)
    for n in said.notches:
        write_reasons(call, f"{n.notch}, {n.outcome}", n.reasons)


def write_comparison(call: Call, c: "ComparisonShown") -> None:
    """Write what a comparison says, as kept."""
    from refstd.desk.serviceability import CAUTION

    call.line(f"comparison {c.number}, by {c.person}: {c.system_in_words()}")
    call.line(c.headline(), strong=True)
    call.line(f"band {c.band_in_words()}")
    for n in c.notches:
        call.line(f"  {n.notch}, {n.outcome}: {n.says}")
    if c.certificate:
        call.line(f"filed as evidence {c.certificate} of {c.secondary}; {c.next_in_words()}")
    if c.finding:
        call.line(f"finding {c.finding} holds {c.secondary}")
    if c.corrects:
        call.line(f"corrects {c.corrects}: {c.why}")
    call.line(CAUTION)


def comparison_as_json(c: "ComparisonShown") -> dict[str, object]:
    """Return a comparison as JSON has it."""
    from refstd.desk.serviceability import CAUTION
    from refstd.reports.heading import instant, text

    rotation, horizontal, vertical = (text(v) for v in c.settings)
    return {
        "comparison": c.number, "primary": c.primary, "secondary": c.secondary, "instrument": c.instrument, "probe": c.probe,
        "cable": c.cable, "frequency_khz": text(c.frequency_khz), "measure": c.measure, "unit": c.unit,
        "rotation_deg": rotation, "horizontal_gain_db": horizontal, "vertical_gain_db": vertical, "noise": text(c.noise),
        "band_db": text(c.band_db), "band_deg": text(c.band_deg), "band_source": c.band_source, "person": c.person,
        "happened_at": instant(c.happened_at), "outcome": c.outcome, "headline": c.headline(),
        "notches": [
            {"notch": n.notch, "ratio_db": text(n.ratio_db), "phase_deg": text(n.phase_deg), "moved_db": text(n.moved_db),
             "outcome": n.outcome, "says": n.says}
            for n in c.notches
        ],
        "scans": [
            {"block": s.side, "notch": s.notch, "horizontal": text(s.horizontal), "vertical": text(s.vertical)}
            for s in c.scans
        ],
        "certificate": c.certificate, "finding": c.finding, "next_due": text(c.next_due), "corrects": c.corrects,
        "corrected_by": c.corrected_by, "why": c.why, "rules_version": c.rules_version, "caution": CAUTION,
    }  # fmt: skip
