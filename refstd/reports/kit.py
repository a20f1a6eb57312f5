"""The kit sheet: one page that goes out with a kit, to be read and filled in by pen where there is no computer."""

from collections.abc import Iterator, Sequence
from decimal import ROUND_CEILING, Decimal

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight
from refstd.base.text import key
from refstd.desk.kit_sheet import KitForJob, KitItem, kit_for_within
from refstd.desk.setups import SetupDraft
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Sheet
from refstd.reports.heading import headed
from refstd.rules.events import CLAUSE

COLUMNS = (
    Column("part", "Part", width=10),
    Column("about", "About", width=16),
    Column("says", "What it is", width=34),
    Column("source", "From", width=20),
    Column("write_here", "Write here", width=26),
)
BOX, TIME_BOX = "_____", "at _____ by _____"
SHIFT_HOURS = 8
STRUCK = "STRUCK OUT: do not use this notch; for why, see 'mind'"
NOTES = (
    "Follow the written procedure; where this sheet and the procedure differ, the procedure holds. Certified personnel and local rules decide.",
    "Expected readings are those of the last acceptable start check of this setup, as seen at its settings. They are no limits: the limits are the procedure's.",
    "What is written here by pen goes on record afterwards with the time at which it was done.",
)


def kit_sheet(lab: Lab, when: When, about: Sequence[str]) -> Sheet:
    """Return the sheet of the kit for a job: about names the job, then items; without items those out for it."""
    job, *asset_nos = about
    with lab.look(when) as look:
        kit = kit_for_within(look, job, asset_nos)
        rows = [(part, *row) for part, lines in sections(kit) for row in lines]
        return headed(
            look, "refstd.kit/1", f"Kit for job {kit.job.number}", COLUMNS, rows, scope=_scope(kit), notes=NOTES,
            extra={"fits": kit.together.fits, "items": [k.item.asset_no for k in kit.items]},
        )  # fmt: skip


Row = tuple[str, str, str, str]


def sections(kit: KitForJob) -> tuple[tuple[str, tuple[Row, ...]], ...]:
    """Return the sheet's parts with their rows: about, what it is, where that is from, what to write."""
    return (
        ("items", tuple(_items(kit))),
        ("set up", tuple(_set_up(kit))),
        ("checks", tuple(_checks(kit))),
        ("scan", tuple(_scan(kit))),
        ("examined", tuple((p.in_words(), "examined under the last check", "the job", TIME_BOX) for p in kit.job.listed)),
    )  # fmt: skip


def verdict_words(kit: KitForJob) -> str:
    """Return in a line whether the kit suits the job."""
    return (
        f"suits the job: {kit.together.verdict.headline()}"
        if kit.together.fits
        else "does NOT suit the job: do not use"
    )


def _scope(kit: KitForJob) -> list[tuple[str, str]]:
    j = kit.job
    about = [
        ("job", f"{j.number}, {j.starts_on} to {j.ends_on}" + (f", {j.place}" if j.place else "")), ("kit", verdict_words(kit)),
        ("procedure", f"{j.procedure.name}: {j.procedure.title}"), ("material", f"{j.material.code} {j.material.name}"),
        ("form", j.form + (f", bore {plain(j.bore_diameter_mm)} mm" if j.bore_diameter_mm is not None else "")),
        *(("against advice", a.in_words()) for a in kit.decided), *j.details.stated(), ("when a check fails, tell", j.procedure.tell),
    ]  # fmt: skip
    return [(name, value) for name, value in about if value]


def _items(kit: KitForJob) -> Iterator[Row]:
    for k in kit.items:
        i = k.item
        known = [
            i.name,
            k.match.verdict.headline(),
            f"condition: {k.condition}" if k.condition else "",
            f"due back {k.due_back_on}" if k.due_back_on else "",
        ]
        yield f"{i.kind} {i.asset_no}", "; ".join(x for x in known if x), "register", f"seen: {BOX}"
        for p in k.pieces:
            yield f"count {p.name}", f"{p.count} of {i.asset_no}: count out and in", "register", f"out {BOX} in {BOX}"
    for reason in _against(kit.items, kit.together.reasons):
        yield "mind" if reason.weight is not Weight.STOPS else "STOPS", reason.in_words(), reason.source, ""


def _against(kit: Sequence[KitItem], together: Sequence[Reason]) -> tuple[Reason, ...]:
    """Return what stands against the items, alone and together, each once; what stops comes first."""
    every = dict.fromkeys(r for r in (*(r for k in kit for r in k.match.reasons), *together))
    order = (Weight.STOPS, Weight.LIMITS, Weight.ADVISES)
    return tuple(sorted((r for r in every if r.weight in order), key=lambda r: order.index(r.weight)))


def _set_up(kit: KitForJob) -> Iterator[Row]:
    j, p, setup, last = kit.job, kit.job.procedure, kit.setup, kit.last
    window = f"{p.name}, {p.frequency_paragraph}: {plain(p.lowest_khz)} to {plain(p.highest_khz)} kHz"
    yield "frequency", f"{plain(j.frequency_khz)} kHz", window, BOX
    if setup is None:
        yield "setup", "none of these items on record at this frequency: set up by the procedure", "", ""
    else:
        known = {name: value for name, value in setup.conditions if value}
        yield "read", ", ".join(known[n] for n in _AS_IT_IS_READ if n in known), f"setup {setup.number}", ""
        for name, value in known.items():
            if name not in ("frequency_khz", "phase_reference", *_AS_IT_IS_READ):
                yield _title(name), value, f"setup {setup.number}", BOX
    yield "balance", "on sound metal of the block", "the procedure", BOX
    reference = setup.phase_reference if setup else "lift-off"
    level = "horizontal" if reference == "lift-off" else f"as the procedure says for {reference}"
    yield "phase", f"turn until {reference} lies {level}", "the procedure", f"rotation {BOX} °"
    if last is not None:
        r = last.readings
        yield "settings then", r.settings_in_words(), r.record, f"gain H {BOX} V {BOX} dB"
    for label in _labels(kit):
        if _struck(kit, label):
            yield f"notch {label}", STRUCK, "certificate of the block", ""
        else:
            yield f"notch {label}", *_expected(kit, label), f"H {BOX} V {BOX}"


_AS_IT_IS_READ = ("measure", "unit", "scan", "screen")


def _title(name: str) -> str:
    return SetupDraft.model_fields[name].title or name.replace("_", " ")


def _labels(kit: KitForJob) -> tuple[str, ...]:
    """Return the notches to scan: those that the last check read, and those that the procedure's limits and targets name."""
    read = [r.notch for r in kit.last.readings.readings] if kit.last else []
    return tuple(dict.fromkeys((*read, *kit.job.procedure.needs.notches)))


def _struck(kit: KitForJob, label: str) -> bool:
    """Return whether a notch is struck out on the block of the kit: limited use leaves it out."""
    return any(key(out) == key(f"notch {label}") for k in kit.items for out in k.match.verdict.struck)


def _expected(kit: KitForJob, label: str) -> tuple[str, str]:
    """Return (what to expect on a notch, where that is from)."""
    p = kit.job.procedure
    says, sources = [], []
    reading = kit.last.readings.on(label) if kit.last else None
    if kit.last and reading is not None:
        r = kit.last.readings
        if reading.full_screen:
            seen = f"at least full screen ({plain(r.full_screen)} {r.unit})"
        else:
            parts = (("horizontal", reading.horizontal), (r.one_figure, reading.vertical))
            seen = ", ".join(f"{name} {plain(value)}" for name, value in parts if value is not None) + f" {r.unit}"
        says.append(f"expect {seen}")
        sources.append(r.record)
    for t in p.targets:
        if t.notch == label:
            says.append(f"set to {plain(t.value)} {t.unit}")
            sources.append(t.paragraph)
    for limit in p.limits:
        if limit.against == "target" and not any(t.notch == label for t in p.targets):
            continue
        if limit.notch in (None, "", label):
            says.append(f"limit of the {limit.quantity}: {limit.in_words()}")
            sources.append(limit.paragraph)
    return "; ".join(says) or "no limit and no reading on record", "; ".join(dict.fromkeys(sources))


def _checks(kit: KitForJob) -> Iterator[Row]:
    p = kit.job.procedure
    boxes = "  ".join(f"{label} {BOX}" for label in _labels(kit) if not _struck(kit, label))
    write = f"{TIME_BOX}  {boxes}".strip()
    yield "start", "before the first part", CLAUSE, write
    if p.check_every_hours is not None:
        every = f"after {plain(p.check_every_hours)} h at most"
        for n in range(1, _in_a_shift(p.check_every_hours) + 1):
            yield (
                f"interim {n}",
                every,
                f"{p.name}, {p.check_paragraph}",
                write,
            )
    else:
        yield "interim", "in intervals, as the written practice says", CLAUSE, write
    for asked in p.asks.occasions:
        if asked.occasion not in ("start", "interval", "end"):
            yield asked.occasion, "end check first, then a new start check", f"{p.name}, {asked.paragraph}", write
    yield (
        "anything", "exchange, knock, new tape, power lost, program recalled, doubt: end check first, then a new start check", CLAUSE,
        f"what: {BOX} {write}",
    )  # fmt: skip
    yield "end", "after the last part", CLAUSE, write


def _in_a_shift(hours: Decimal) -> int:
    return max(1, min(int((SHIFT_HOURS / hours).to_integral_value(ROUND_CEILING)) - 1, 6))


def _scan(kit: KitForJob) -> Iterator[Row]:
    for line in kit.plan.lines():
        yield line.about, line.says, line.source, ""
    for line in kit.plan.missing:
        yield line.about, line.says, line.source, BOX
