"""What each item owes and the certificates that show it was done: schedules, values with U and k, and their papers."""

import random
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import partial

from refstd.desk.certificates import CertificateDraft, Paper, ValueDraft, file_certificate
from refstd.desk.schedules import ScheduleDraft, set_schedule

from .equipment import BLOCKS, INSTRUMENTS, PROBES, notches_of
from .paper import pdf
from .stories.lapsing_certificates import NOT_RENEWED_AFTER
from .telling import Event, Telling, at, draft

HALLWAY, WORKSHOP = "Hallway Metrology", "this lab, workshop"
STORY_DAY = date(2026, 3, 9)
OPENING = date(2024, 3, 4)
Value = tuple[str, str, str, str, str, str, str, str, str]  # notch, quantity, stage, value, unit, U, k, lower, upper
OLDEST = "I-308"  # a year longer in the lab than the others: enough certificates in a row to propose an interval from
PRACTICE = "written practice WP-02"


def schedules() -> Iterator[Event]:
    """Yield what each item owes, entered when the register opens."""
    instant = at(date(2024, 3, 6), "10:00")
    for row in BLOCKS:
        asset, grade, form = row[0], row[4], row[5]
        if row[12] == "awaiting receipt":
            continue
        if grade == "primary":
            yield Event(instant, partial(_owes, asset, "calibration", 24, "paragraph 6.1"))
        elif form == "conductivity":
            yield Event(instant, partial(_owes, asset, "calibration", 12, "paragraph 6.4"))
        else:
            yield Event(instant, partial(_owes, asset, "calibration", 36, "paragraph 6.2"))
            yield Event(instant, partial(_owes, asset, "comparison", 12, "paragraph 6.3"))
    for asset, *_ in INSTRUMENTS:
        yield Event(instant, partial(_owes, asset, "calibration", 12, "paragraph 5.1"))
    for asset in probes():
        yield Event(instant, partial(_owes, asset, "inspection", 12, "paragraph 7.2"))


def probes() -> Iterator[str]:
    """Yield the probes' asset numbers."""
    for first, last, *_ in PROBES:
        yield from (f"P-{number}" for number in range(first, last + 1))


def _owes(asset: str, activity: str, months: int, paragraph: str, telling: Telling) -> None:
    owed = draft(
        ScheduleDraft, asset_no=asset, activity=activity, every_months=months, source=f"{PRACTICE}, {paragraph}"
    )
    telling.do(set_schedule, owed, by="ORLA")


def certificates() -> Iterator[Event]:
    """Yield the filing of every certificate: those from before the register opened, then each renewal a few days early."""
    for place, row in enumerate(BLOCKS):
        asset, grade, form = row[0], row[4], row[5]
        if row[12] == "awaiting receipt":
            continue
        first = date(2023, 5, 15) + timedelta(days=11 * place)
        months = 24 if grade == "primary" else 12 if form == "conductivity" else 36
        yield from _series(asset, "calibration", first, months, partial(block_paper, row))
        if grade != "primary" and form != "conductivity":
            yield from _series(asset, "comparison", _comparison(asset, place), 12, partial(_comparison_paper, asset))
    for place, instrument in enumerate(INSTRUMENTS):
        first = date(2024, 3, 1) if instrument[0] == "I-305" else date(2023, 6, 12) + timedelta(days=19 * place)
        if instrument[0] == OLDEST:
            first -= timedelta(days=round(12 * 30.4375) - 9)
        yield from _series(instrument[0], "calibration", first, 12, partial(_instrument_paper, instrument[0]))
    for place, asset in enumerate(probes()):
        first = date(2023, 5, 8) + timedelta(days=6 * place)
        yield from _series(asset, "inspection", first, 12, partial(_probe_paper, asset))


def _comparison(asset: str, place: int) -> date:
    special = {"B-105": date(2023, 3, 31)}
    return special.get(asset, date(2023, 5, 22) + timedelta(days=10 * place))


def _series(asset: str, activity: str, first: date, months: int, filed: partial[None]) -> Iterator[Event]:
    """Yield one filing after the other; a renewal is done nine days before the last would lapse."""
    last = NOT_RENEWED_AFTER.get((asset, activity), STORY_DAY)
    done, number = first, 0
    while done <= last and done + timedelta(days=4) < STORY_DAY:
        filed_on = max(done + timedelta(days=3), OPENING + timedelta(days=3))
        while filed_on.weekday() > 4:
            filed_on += timedelta(days=1)
        yield Event(at(filed_on, "11:00"), partial(filed, done, number))
        done, number = done + timedelta(days=round(months * 30.4375) - 9), number + 1


def block_paper(
    row: tuple[str, ...], done: date, number: int, telling: Telling, *, supersedes: str = "", why: str = ""
) -> None:
    """File the laboratory's certificate of a block; with `supersedes` the laboratory's correction of one."""
    asset, kind, form = row[0], row[8], row[5]
    if form == "conductivity":
        _conductivity_paper(asset, done, number, telling)
        return
    dice = random.Random(f"{asset} {number}{why}")
    values: list[Value] = []
    for label, _, depth, *_ in notches_of(kind, form):
        value = float(depth) + dice.gauss(0, 0.008)
        if asset == "B-117" and depth == "0.2":
            value = 0.271  # cut too deep: out of its drawing, so that this notch is struck out
        values.append(
            (
                label,
                "depth",
                "as left",
                f"{value:.3f}",
                "mm",
                "0.010",
                "2.00",
                f"{float(depth) - 0.05:.2f}",
                f"{float(depth) + 0.05:.2f}",
            )
        )
        values.append((label, "width", "as left", f"{0.12 + dice.gauss(0, 0.004):.3f}", "mm", "0.012", "2.00", "", ""))
    fields = {
        "number": f"{supersedes}A" if supersedes else f"HM-{done:%y}-{asset[2:]}{number}", "laboratory": HALLWAY,
        "accreditation": "own scheme, scope 14",
        "method": "replica and optical comparator", "place": "at the middle of each notch", "temperature_c": "20.4",
        "traceability": "length standard LS-3, certificate LS-3/23", "decision_rule": "iso 14253-1" if asset == "B-117" else "simple",
    }  # fmt: skip
    limit_source = f"drawing {row[2]}, note 4"
    file_paper(telling, asset, "calibration", done, fields, values, limit_source, supersedes=supersedes, why=why)


def _conductivity_paper(asset: str, done: date, number: int, telling: Telling) -> None:
    value = 43.12 + 0.05 * number
    fields = {
        "number": f"HM-{done:%y}-C{number}", "laboratory": HALLWAY, "method": "bridge, 60 kHz", "place": "centre of the face",
        "temperature_c": "20.0", "traceability": "national conductivity scale", "decision_rule": "guard band", "guard_ratio": "1",
    }  # fmt: skip
    values = [("", "conductivity", "as left", f"{value:.2f}", "%IACS", "0.20", "2.00", "42.5", "43.7")]
    file_paper(telling, asset, "calibration", done, fields, values, "drawing CS-43, note 2")


def _instrument_paper(asset: str, done: date, number: int, telling: Telling) -> None:
    dice = random.Random(f"{asset} {number}")
    values: list[Value] = []
    found = dice.gauss(0, 0.12)
    adjusted = abs(found) > 0.15
    left = dice.gauss(0, 0.04) if adjusted else found
    for stage, value in (("as found", found), ("as left", left)):
        values.append(("", "gain error at 40 dB", stage, f"{value:.2f}", "dB", "0.10", "2.00", "-0.5", "0.5"))
        values.append(("", "frequency error", stage, f"{dice.gauss(0, 0.01):.3f}", "%", "0.010", "2.00", "-0.1", "0.1"))
    fields = {
        "number": f"HM-{done:%y}-{asset[2:]}{number}", "laboratory": HALLWAY, "accreditation": "own scheme, scope 21",
        "method": "gain, frequency, phase and noise by signal generator", "temperature_c": "22.1", "decision_rule": "guard band",
        "guard_ratio": "1", "adjusted": "yes" if adjusted else "no", "adjustment": "gain trimmed" if adjusted else "",
        "traceability": "signal generator SG-2, certificate SG-2/23",
    }  # fmt: skip
    file_paper(telling, asset, "calibration", done, fields, values, "test specification TS-7, table 2")


def _comparison_paper(asset: str, done: date, number: int, telling: Telling) -> None:
    fields = {
        "number": f"CMP-{done:%y}-{asset[2:]}{number}",
        "laboratory": WORKSHOP,
        "method": "response compared with the primary",
        "result": "sound",
    }
    file_paper(telling, asset, "comparison", done, fields, [], "")


def _probe_paper(asset: str, done: date, number: int, telling: Telling) -> None:
    fields = {
        "number": f"INS-{done:%y}-{asset[2:]}{number}",
        "laboratory": WORKSHOP,
        "method": "face, cable and connector by eye, 5×",
        "result": "sound",
    }
    file_paper(telling, asset, "inspection", done, fields, [], "")


def file_paper(
    telling: Telling,
    asset: str,
    activity: str,
    done: date,
    fields: dict[str, str],
    values: Sequence[Value],
    limit_source: str,
    *,
    supersedes: str = "",
    why: str = "",
) -> None:
    """File a certificate; one with values comes with its paper."""
    certificate = draft(
        CertificateDraft, asset_no=asset, activity=activity, performed_on=done, issued_on=done, **fields
    )
    rows = [
        draft(
            ValueDraft, notch=n, quantity=q, stage=s, value=v, unit=u, expanded_uncertainty=U, coverage_factor=k, lower_limit=low,
            upper_limit=high, limit_source=limit_source if low or high else "",
        )
        for n, q, s, v, u, U, k, low, high in values
    ]  # fmt: skip
    lines = [
        f"Certificate {fields['number']}",
        f"Item {asset}",
        f"Laboratory {fields['laboratory']}",
        f"Done on {done}",
        "",
    ]
    lines += [f"{n} {q}, {s}: {v} {u}, U = {U} {u}, k = {k}".strip() for n, q, s, v, u, U, k, *_ in values]
    paper = Paper(f"{fields['number']}.pdf", pdf(lines)) if values else None
    telling.do(file_certificate, certificate, rows, paper, supersedes=supersedes, why=why, by="ORLA")
