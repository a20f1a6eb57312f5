"""The materials that blocks and parts are made of, each value with its source."""

from typing import ClassVar

from refstd.base.quantity import plain
from refstd.desk.equipment import MaterialDraft, enter_material
from refstd.desk.jobs import MaterialShown, materials
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen
from refstd.tui.pages import ListPage
from refstd.tui.widgets.rows import Col, Row


class MaterialsPage(ListPage):
    """The materials on record."""

    HEADING = "Materials"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("code", 12), Col("name", 18), Col("family", 18), Col("magnetic", 15), Col("%IACS", 6, right=True), Col("source"),
    )  # fmt: skip
    EMPTY = "no material on record; a block needs one (n)"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "enter_material", "New material", "Put a material on record (custodian)."),
        Command("e", "describe_material", "Describe", "Describe the material under the cursor anew."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, MaterialShown] = {}

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: materials(lab, when), self.show_materials)

    def show_materials(self, found: tuple[MaterialShown, ...]) -> None:
        """Show the materials that were read."""
        self.found = {m.code: m for m in found}
        self.fill(
            [
                Row((m.code, m.name, m.family, m.magnetic_class, _iacs(m) or "—", m.source), ("material", m.code),
                    f"{m.code} {m.name}, {m.family}, {m.magnetic_class}\n{_iacs(m) or 'no'} %IACS ({m.source})")
                for m in found
            ]
        )  # fmt: skip

    def action_enter_material(self) -> None:
        self._form("Enter a material", {}, ())

    def action_describe_material(self) -> None:
        if self.row is not None and self.row.opens:
            m = self.found[self.row.opens[1]]
            given = {
                "code": m.code, "name": m.name, "family": m.family, "magnetic_class": m.magnetic_class,
                "conductivity_percent_iacs": _iacs(m), "source": m.source,
            }  # fmt: skip
            self._form(f"Describe {m.code} anew", given, ("code",))

    def _form(self, title: str, given: dict[str, str], hidden: tuple[str, ...]) -> None:
        if not self.may_record():
            return
        app = self.refstd

        def done(_: object) -> None:
            self.tell("material entered")
            self.load()

        self.app.push_screen(
            FormScreen(
                title, MaterialDraft, lambda d, _, op: enter_material(app.lab, d, by=app.by, now=app.now(), operation=op), done,
                given=given, leave_out=hidden,
            )
        )  # fmt: skip


def _iacs(m: MaterialShown) -> str:
    return plain(m.conductivity_percent_iacs) if m.conductivity_percent_iacs is not None else ""
