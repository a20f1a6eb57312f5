"""A certificate as filed: its values with U, k and limits, what the paper says about itself, and the paper."""

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import ClassVar

from refstd.base.errors import Refusal
from refstd.base.quantity import plain
from refstd.desk.certificates import ValueShown, paper_bytes
from refstd.desk.history import CertificateShown, ItemRecord, item_record
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.record_sections import certificate_facts, measured
from refstd.tui.screens import LabScreen
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.valuewords import P_IS, says_of, value_row
from refstd.tui.widgets.rows import Col, Row

_VALUES = (
    Col("what", 12), Col("nominal", 7, right=True), Col("measured", 10, right=True), Col("as judged then", 18), Col("rule, P; limits; U"),
)  # fmt: skip
_CHAIN = (Col("filed", 16), Col("number", 16), Col("standing", 14), Col("why"))


class CertificatePage(SectionsPage):
    """A certificate with its values and how they were judged when it was filed; the records before and after a correction."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "f", "follows", "What follows", "What it changes as of now: verdict, procedures, findings, dues, checks."
        ),
        Command("i", "item", "Item", "Open the record of the item."),
        Command("o", "save_paper", "Save paper", "Write the attached paper to a file; what exists is not overwritten."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, asset_no: str, number: str, certificate_id: int = 0) -> None:
        super().__init__()
        self.asset_no, self.number, self.certificate_id = asset_no, number, certificate_id
        self.paper: CertificateShown | None = None
        self.chain: tuple[CertificateShown, ...] = ()

    def load(self) -> None:
        lab, when, asset_no = self.refstd.lab, self.refstd.when(), self.asset_no
        self.ask(lambda: item_record(lab, asset_no, when), self.show_certificate)

    def show_certificate(self, record: ItemRecord) -> None:
        """Show the certificate: the record asked for, else the one in force, else the last with its number."""
        same = [c for c in record.certificates if c.number == self.number]
        asked = next((c for c in same if c.certificate_id == self.certificate_id), None)
        c = asked or next((c for c in same if c.in_force), same[-1])
        self.paper, self.chain = c, corrections_of(record.certificates, c)
        nominal = {n.label: n.depth_mm for n in record.item.notches}
        sections = [
            Section(
                "values", _VALUES, tuple(_value_row(v, nominal.get(v.notch) if v.is_depth else None) for v in c.values),
                "no value was filed",
            ),
            Section("paper", text=certificate_facts(c)),
        ]  # fmt: skip
        if len(self.chain) > 1:
            sections.append(Section("corrections", _CHAIN, tuple(self._record_row(x) for x in self.chain)))
        filed = f", filed {self.local(c.recorded_at)}" if c.recorded_at else ""
        self.show(
            f"Certificate {c.number} of {record.item.asset_no}",
            f"{c.activity} done on {c.performed_on} by {c.laboratory}{filed}; {standing_in_words(c, self.chain)}\n"
            + (f"As judged when filed, by that day's rule. {P_IS}." if any(v.judged for v in c.values) else "No value has limits: none is judged."),
            sections,
        )  # fmt: skip

    def _record_row(self, c: CertificateShown) -> Row:
        filed = self.local(c.recorded_at) if c.recorded_at else ""
        says = standing_in_words(c, self.chain)
        short = "in force" if c.in_force else "withdrawn" if c.withdrawn else "superseded"
        about = f"certificate {c.number}, filed {filed}: {says}" + (f"\nwhy: {c.why}" if c.why else "")
        return Row(
            (filed, c.number, short, c.why), ("record", str(c.certificate_id)), about, "" if c.in_force else "quiet"
        )

    def open_row(self, row: Row) -> None:
        if row.opens and row.opens[0] == "record":
            c = next(x for x in self.chain if str(x.certificate_id) == row.opens[1])
            if self.paper is None or c.certificate_id != self.paper.certificate_id:
                self.app.push_screen(CertificatePage(self.asset_no, c.number, c.certificate_id))

    def action_follows(self) -> None:
        from refstd.tui.opening import open_what_follows

        if self.paper and self.paper.in_force:
            open_what_follows(self, self.asset_no, self.paper.number)

    def action_item(self) -> None:
        self.open_record("item", self.asset_no)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "follows":
            return bool(self.paper and self.paper.in_force)
        return bool(self.paper and self.paper.paper) if action == "save_paper" else True

    def action_save_paper(self) -> None:
        if not (self.paper and self.paper.paper):
            return
        save_paper(self, self.paper.paper, self.paper.paper_sha256)


def save_paper(page: LabScreen, name: str, sha256: str) -> None:
    """Ask for a path and write an attached paper there as it was attached; what exists is not overwritten."""
    app = page.refstd

    def given(path: str | None) -> None:
        if path and path.strip():
            target = Path(path.strip()).expanduser()
            page.ask(
                lambda: write_new(target, paper_bytes(app.lab, sha256, app.when())[1]),
                lambda done: page.notify(f"written: {done}", markup=False),
            )

    app.push_screen(AskLine("Write the paper to which file?", name), given)


def corrections_of(records: Sequence[CertificateShown], c: CertificateShown) -> tuple[CertificateShown, ...]:
    """Return a record with those that it took the place of and those that took its place, oldest first."""
    before, after = {x.certificate_id: x for x in records}, {x.supersedes_id: x for x in records if x.supersedes_id}
    chain = [c]
    while (earlier := before.get(chain[0].supersedes_id or 0)) is not None:
        chain.insert(0, earlier)
    while (later := after.get(chain[-1].certificate_id)) is not None:
        chain.append(later)
    return tuple(chain)


def standing_in_words(c: CertificateShown, chain: Sequence[CertificateShown]) -> str:
    """Return whether a record counts, and which other one stands in its place, or it in that one's, with the reason."""
    later = next((x for x in chain if x.supersedes_id == c.certificate_id), None)
    earlier = next((x for x in chain if x.certificate_id == c.supersedes_id), None)
    if c.withdrawn or (later and later.withdrawn):
        return f"WITHDRAWN, it counts no longer: {(later or c).why}"
    if later is not None:
        return f"SUPERSEDED by {later.number}, it counts no longer: {later.why}"
    return "in force" + (f", in the place of an earlier record of {earlier.number}: {c.why}" if earlier else "")


def _value_row(v: ValueShown, nominal: Decimal | None) -> Row:
    j = v.judged
    limits = (j.lower, j.upper) if j else (v.lower_limit, v.upper_limit)
    about = [
        f"{v.notch or 'item'} {v.quantity} {v.stage}: {measured(v.value, v.unit, v.expanded_uncertainty, v.coverage_factor)}"
    ]
    about[0] += f"; nominal {plain(nominal)} mm" if nominal is not None else ""
    about[0] += "".join(f"; {name} {words}" for name, words in (("at", v.point), ("by", v.method)) if words)
    about.append(j.says if j else "no limits, not judged")
    says = says_of(j.in_short if j else "", limits, v.unit, v.expanded_uncertainty, v.coverage_factor)
    what = (v.notch, v.quantity, v.stage)
    return value_row(what, nominal, v.value, v.unit, j.outcome if j else "", says, "\n".join(about))


def write_new(target: Path, content: bytes) -> Path:
    """Write a new file, or refuse; what exists is left alone."""
    try:
        with target.open("xb") as file:
            file.write(content)
    except FileExistsError as error:
        raise Refusal("that file exists and is not overwritten", str(target), "Give another name.") from error
    except OSError as error:
        raise Refusal(f"the file cannot be written: {error.strerror}", str(target), "Check folder and name.") from error
    return target.resolve()
