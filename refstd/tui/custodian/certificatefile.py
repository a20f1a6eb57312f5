"""A certificate that comes as a file: look at what was understood, say which notch is meant where nobody knows, store it."""

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from platformdirs import user_downloads_path
from textual.worker import Worker, WorkerState

from refstd.base.errors import BadInput, Refusal
from refstd.desk.name_mapping import LEFT_OUT, WHOLE_ITEM
from refstd.exchange.dcc import Understood, understood_from
from refstd.exchange.dcc_document import certificate_bytes
from refstd.exchange.dcc_item import ItemNotSaid
from refstd.exchange.dcc_plan import QUANTITIES, Line, Plan, file_plan, plan_import
from refstd.exchange.dcc_words import head_in_words, limits_in_short, line_in_words, value_in_short
from refstd.tui.asking import AskLine, Choose
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.filedpage import FiledPage
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row, Rows

_VALUES = (Col("theirs", 8), Col("here", 10), Col("quantity", 8), Col("value, U, k", 27), Col("limits, stated"))
_MOST_LOOKED_AT = 200  # files of a folder, newest first: a folder of downloads may hold thousands
_MARK = b"digitalCalibrationCertificate"


class CertificateFilePage(SectionsPage):
    """What a certificate file holds and what it becomes. Enter stores it, once every place is known."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("enter", "store", "Store", "Store the certificate; where a notch is not known yet, say which it is."),
        Command("m", "place", "Which notch", "Say which notch the place under the cursor is; it is remembered."),
        Command("u", "quantity", "Quantity", "Say which quantity the column under the cursor holds; it is remembered."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, understood: Understood, item: str = "") -> None:
        super().__init__()
        self.understood, self.item = understood, item
        self.places: dict[str, str] = {}
        self.quantities: dict[str, str] = {}
        self.plan: Plan | None = None
        self.leaving: Callable[[], object] | None = None  # what follows once the worker that runs has ended

    def load(self) -> None:
        if self.acting:
            return
        lab, when, item = self.refstd.lab, self.refstd.when(), self.item
        places, quantities = dict(self.places), dict(self.quantities)
        self.ask(
            lambda: plan_import(lab, when, self.understood, item=item, places=places, quantities=quantities),
            self.show_plan,
            self.not_planned,
        )

    def not_planned(self, refusal: Refusal) -> None:
        """Ask for the item where the certificate does not say; else go back with the refusal."""
        if self not in self.app.screen_stack or self.app.screen is not self:
            return
        if not isinstance(refusal, ItemNotSaid):
            self.leaving = lambda: self.refused(refusal)
            return

        def given(asset_no: str | None) -> None:
            if asset_no and asset_no.strip():
                self.item = asset_no.strip()
                self.load()
            else:
                self.app.pop_screen()

        self.app.push_screen(
            AskLine(f"{refusal.wrong}.\n{refusal.where}\nAsset number of the item it is about:"), given
        )

    def show_plan(self, plan: Plan) -> None:
        """Show what would be stored."""
        self.plan = plan
        u = plan.understood
        sure = (
            "nothing stands against it: Enter stores it"
            if not plan.stops
            else f"Enter says which notch; not yet: {plan.stops[0]}"
        )
        more = f" (and {len(plan.stops) - 1} more)" if len(plan.stops) > 1 else ""
        watch = "\n".join(f"! {w}" for w in plan.watch)
        left = [*plan.not_taken, *(f"{x.path}: {x.begins}" for x in u.left)]
        self.show(
            f"Certificate file {u.number}, not stored",
            f"{plan.item.asset_no} {plan.item.name}, {plan.found_by}; {u.laboratory}, performed {u.performed_on}; "
            f"rule: {plan.draft.decision_rule or 'none named'}" + (f"\n{watch}" if watch else ""),
            (
                Section("values", _VALUES, tuple(_row(n, x) for n, x in enumerate(plan.lines))),
                Section("understood", text=fact_lines(*head_in_words(plan))),
                Section(f"left ({len(left)})", text="\n".join(("Not understood, or not used:", *left))),
                Section(f"watch ({len(plan.watch) + len(plan.stops)})", text=watch + "\n".join(("", *(f"! {p}" for p in plan.stops)))),
            ),
            sure + more,
        )  # fmt: skip
        open_one = next((n for n, x in enumerate(plan.lines) if not x.means), None)
        if self.section == "values" and open_one is not None:
            self.query_one(Rows).go_to(("line", str(open_one)))

    def _line(self) -> Line | None:
        row = self.query_one(Rows).row
        if self.plan is None or self.section != "values" or row is None or row.opens is None:
            return None
        return self.plan.lines[int(row.opens[1])]

    def open_row(self, row: Row) -> None:
        self.action_store()

    def action_store(self) -> None:
        plan, line = self.plan, self._line()
        if plan is None or not self.may_record():
            return
        if plan.stops:
            if line is not None and not line.means:
                self.action_place()
            else:
                self.refused(BadInput(plan.understood.file, plan.stops))
            return
        app = self.refstd

        def filed(_: None) -> None:
            self.leaving = lambda: self._to_what_follows(plan)

        self.act(lambda op: file_plan(app.lab, plan, by=app.by, now=app.now(), operation=op), filed)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Leave once the worker that said so has ended: a screen that goes earlier takes its worker along."""
        if event.state == WorkerState.SUCCESS and self.leaving is not None:
            leave, self.leaving = self.leaving, None
            self.app.pop_screen()
            leave()

    def _to_what_follows(self, plan: Plan) -> None:
        """Say what was done, and open what follows from it."""
        place = f" in the place of {plan.supersedes}" if plan.supersedes else ""
        self.tell(
            f"certificate {plan.draft.number} of {plan.item.asset_no} filed{place}; its XML is kept byte for byte"
        )
        self.app.push_screen(FiledPage(plan.item.asset_no, plan.draft.number))

    def action_place(self) -> None:
        plan, line = self.plan, self._line()
        if plan is None or line is None:
            return
        nominal = {n.label: f"{n.label}, nominal {format(n.depth_mm, 'f')} mm deep" for n in plan.item.notches}
        answers = (*nominal, WHOLE_ITEM, LEFT_OUT)
        shown = (*nominal.values(), f"{WHOLE_ITEM}: no notch of it", f"{LEFT_OUT}: do not store it")

        def chosen(means: str | None) -> None:
            if means is not None:
                self.places[line.shown] = means
                self.load()

        self.app.push_screen(
            Choose(f"{line_in_words(line)}\nWhich notch of {plan.item.asset_no} is it?", answers, shown, line.means),
            chosen,
        )

    def action_quantity(self) -> None:
        line = self._line()
        if line is None:
            return

        def chosen(quantity: str | None) -> None:
            if quantity is not None:
                self.quantities[line.read.column] = quantity
                self.load()

        answers = tuple(dict.fromkeys((*QUANTITIES, line.read.column)))
        self.app.push_screen(
            Choose(f"Which quantity does column '{line.read.column}' hold?", answers, (), line.quantity), chosen
        )


def _row(number: int, line: Line) -> Row:
    stated = "warn" if line.read.stated in ("fail", "conditionalFail", "noPass") else ""
    tone = "bad" if not line.means or not line.quantity else "quiet" if line.means == LEFT_OUT else stated
    return Row(
        (line.shown, line.means or "?", line.quantity or "?", value_in_short(line), limits_in_short(line)),
        ("line", str(number)), line_in_words(line), tone,
    )  # fmt: skip


def open_file(path: Path) -> Understood:
    """Return what a certificate file says, or refuse."""
    return understood_from(path.name, certificate_bytes(path))


def certificate_files() -> list[Path]:
    """Return the certificates that lie here or among the downloads, newest first."""
    found: dict[Path, float] = {}
    for folder in (Path.cwd(), user_downloads_path()):
        try:
            listed = [(p, p.stat().st_mtime) for p in folder.iterdir() if p.suffix.lower() == ".xml"]
        except OSError:
            continue
        found |= dict(listed)
    newest = sorted(found, key=lambda p: (-found[p], p))[:_MOST_LOOKED_AT]
    return [p for p in newest if _looks_like_one(p)]


def in_short(path: Path) -> str:
    """Return a path as short as it can be typed: from here, else from home."""
    for folder, start in ((Path.cwd(), ""), (Path.home(), "~/")):
        if path.is_relative_to(folder):
            return f"{start}{path.relative_to(folder)}"
    return str(path)


def _looks_like_one(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return _MARK in file.read(4096)
    except OSError:
        return False
