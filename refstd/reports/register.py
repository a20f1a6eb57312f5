"""The register: every item with its verdict, its state, where it is and who has it."""

from refstd.desk.items import ItemShown
from refstd.desk.serviceability import Status, register_within
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, text, verdict_members

COLUMNS = (
    Column("asset_no", "Asset", width=9),
    Column("kind", "Kind", width=8),
    Column("name", "Name", width=16),
    Column("part_no", "Part number", width=11),
    Column("serial_no", "Serial number", width=11),
    Column("what", "What it is", width=24),
    Column("state", "State", width=12),
    Column("location", "Where", width=12),
    Column("owner", "Owner, back on", width=12),
    Column("loan", "Out to", width=18),
    Column("due_back_on", "Due back", Kind.DATE, width=9),
    Column("standing", "Standing", width=10),
    Column("verdict", "Verdict", width=30),
)
TITLES = {
    "": "Register",
    "block": "Reference blocks",
    "probe": "Probes",
    "instrument": "Instruments",
    "accessory": "Accessories",
}


def register_sheet(lab: Lab, when: When, kind: str = "") -> Sheet:
    """Return the items of a kind (block, probe, instrument, accessory), or all."""
    with lab.look(when) as look:
        found = register_within(look, kind)
        return headed(
            look, "refstd.register/1", TITLES.get(kind, kind), COLUMNS, [_row(s) for s in found],
            scope=[("kind", kind or "all")], extra={"verdicts": [verdict_members(s.verdict) for s in found]},
        )  # fmt: skip


def _row(s: Status) -> tuple[str, ...]:
    i, loan = s.item, s.item.loan
    return (
        i.asset_no, i.kind, i.name, i.part_no, i.serial_no, what_it_is(i), i.state, i.location,
        f"{i.owner}, {i.return_on}" if i.return_on else i.owner,
        f"{loan.holder}, job {loan.job}" if loan else "", text(loan.due_back_on) if loan else "", str(s.verdict.standing),
        s.verdict.headline(),
    )  # fmt: skip


def what_it_is(item: ItemShown) -> str:
    """Return what only this kind of equipment has, in a few words."""
    special = item.special
    if item.kind == "block":
        assert item.material is not None
        sizes = [f"{text(special['thickness_mm'])} mm thick"] if special.get("thickness_mm") is not None else []
        if special.get("bore_diameter_mm") is not None:
            sizes.append(f"bore {text(special['bore_diameter_mm'])} mm")
        notches = [f"notches {', '.join(n.label for n in item.notches)}"] if item.notches else []
        return "; ".join([f"{special['grade']} {item.form} block of {item.material.name}", *sizes, *notches])
    if item.kind == "probe":
        reach = f"{text(special['lowest_khz'])} to {text(special['highest_khz'])} kHz"
        return f"{item.form}, {special['circuit']}, {special['coils']}; {reach}; connector {special['connector']}"
    if item.kind == "instrument":
        reach = f"{text(special['lowest_khz'])} to {text(special['highest_khz'])} kHz"
        count = "1 frequency" if special["frequencies"] == 1 else f"{special['frequencies']} frequencies"
        return f"{count}, {reach}; connector {special['connector']}; order {special['display_order']}"
    joins = [str(special[c]) for c in ("instrument_connector", "probe_connector") if special.get(c)]
    return f"{item.form}" + (f" {' to '.join(joins)}" if joins else "")
