"""A certificate as filed: its values with U, k and limits, what the paper says about itself, and the paper."""

from pathlib import Path
from typing import ClassVar

from refstd.base.errors import Refusal
from refstd.base.quantity import plain
from refstd.desk.certificates import paper_bytes
from refstd.desk.history import CertificateShown, ItemRecord, item_record
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.record_sections import certificate_facts, limits_words, measured
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.widgets.rows import Col, Row

_VALUES = (Col("notch", 10), Col("quantity", 12), Col("stage", 8), Col("value, U, k", 30), Col("limits, where from"))


class CertificatePage(SectionsPage):
    """A certificate with its values."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("o", "save_paper", "Save paper", "Write the attached paper to a file; what exists is not overwritten."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, asset_no: str, number: str) -> None:
        super().__init__()
        self.asset_no, self.number = asset_no, number
        self.paper: CertificateShown | None = None

    def load(self) -> None:
        lab, when, asset_no = self.refstd.lab, self.refstd.when(), self.asset_no
        self.ask(lambda: item_record(lab, asset_no, when), self.show_certificate)

    def show_certificate(self, record: ItemRecord) -> None:
        """Show the certificate, as it is in force or as it was last."""
        same = [c for c in record.certificates if c.number == self.number]
        c = next((c for c in same if c.in_force), same[-1])
        self.paper = c
        nominal = {n.label: n.depth_mm for n in record.item.notches}
        rows = [
            Row(
                (v.notch or "item", v.quantity, v.stage, measured(v.value, v.unit, v.expanded_uncertainty, v.coverage_factor),
                 limits_words(v.lower_limit, v.upper_limit, v.unit, v.limit_source)),
                None,
                f"{v.notch or 'item'} {v.quantity} {v.stage}: {measured(v.value, v.unit, v.expanded_uncertainty, v.coverage_factor)}"
                + (f"; nominal {plain(nominal[v.notch])} mm" if v.is_depth and v.notch in nominal else "")
                + f"\nlimits {limits_words(v.lower_limit, v.upper_limit, v.unit, v.limit_source)}; {c.decision_rule or 'no decision rule'}",
            )
            for v in c.values
        ]  # fmt: skip
        standing = "in force" if c.in_force else "SUPERSEDED OR WITHDRAWN: it counts no longer"
        self.show(
            f"Certificate {c.number} of {record.item.asset_no}",
            f"{c.activity} done on {c.performed_on} by {c.laboratory}; {standing}",
            (
                Section("values", _VALUES, tuple(rows), "no value was filed"),
                Section("paper", text=certificate_facts(c)),
            ),
        )

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return bool(self.paper and self.paper.paper) if action == "save_paper" else True

    def action_save_paper(self) -> None:
        if not (self.paper and self.paper.paper):
            return
        app, sha256 = self.refstd, self.paper.paper_sha256

        def given(path: str | None) -> None:
            if path and path.strip():
                target = Path(path.strip()).expanduser()
                self.ask(
                    lambda: write_new(target, paper_bytes(app.lab, sha256, app.when())[1]),
                    lambda done: self.notify(f"written: {done}", markup=False),
                )

        self.app.push_screen(AskLine("Write the paper to which file?", self.paper.paper), given)


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
