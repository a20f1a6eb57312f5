"""Entering an item, and describing one anew: a form, for a block one row a notch, and for a change the reason."""

from collections.abc import Mapping

from refstd.desk.entry import fields_of
from refstd.desk.equipment import ItemDraft, NotchDraft, enter_item, revise_item
from refstd.desk.items import ItemShown
from refstd.desk.jobs import MaterialShown, materials
from refstd.tui.asking import AskLine, Choose
from refstd.tui.forms import FormScreen
from refstd.tui.grid import GridColumn, GridScreen, HeadForm
from refstd.tui.pages import Page
from refstd.tui.record_sections import DRAFTS, described, notch_described

NOTCH_COLUMNS = (
    GridColumn("label", "label", 10), GridColumn("depth_mm", "depth", 7), GridColumn("length_mm", "length", 7),
    GridColumn("width_mm", "width", 7), GridColumn("second_leg_mm", "leg 2", 6), GridColumn("cover_mm", "cover", 6),
    GridColumn("through", "through", 7), GridColumn("site", "site", 12), GridColumn("process", "process", 8),
)  # fmt: skip
NOTCH_NOTE = "One row a notch; sizes in mm as nominal, by the drawing. Measured values belong to the certificate."
EMPTY_ROWS = 4


# Somebody who enters one item at the screen has it before them, new; a register that is read from files is in use already.
COMES_IN = {"state": "awaiting receipt"}


def enter_new(page: Page) -> None:
    """Ask which kind, then open its form."""

    def chosen(kind: str | None) -> None:
        if kind:
            enter_kind(page, kind)

    page.app.push_screen(Choose("Enter which kind of equipment?", tuple(DRAFTS)), chosen)


def enter_kind(page: Page, kind: str) -> None:
    """Open the form for a new item of a kind."""
    app, title = page.refstd, f"Enter a new {kind}"

    def entered(asset_no: str) -> None:
        page.tell(f"{asset_no} entered. Next: its certificate (c), its schedule (d), and its receipt inspection (v).")
        page.open_record("item", asset_no)

    def keep(draft: ItemDraft, notches: tuple[NotchDraft, ...], operation: str) -> str:
        enter_item(app.lab, draft, notches, by=app.by, now=app.now(), operation=operation)
        return draft.asset_no

    if kind != "block":
        form = FormScreen(title, DRAFTS[kind], lambda d, _, op: keep(d, (), op), entered, given=COMES_IN)
        app.push_screen(form)
        return

    def to_notches(draft: ItemDraft) -> None:
        app.push_screen(
            GridScreen(
                f"Notches of {draft.asset_no}", NotchDraft, NOTCH_COLUMNS, [{}] * EMPTY_ROWS,
                lambda rows, op: keep(draft, rows, op), entered, decides="depth_mm", row_name="notch",
                follows=("site", "process"), note=NOTCH_NOTE,
            )
        )  # fmt: skip

    def with_materials(found: tuple[MaterialShown, ...]) -> None:
        note = "" if found else "No material is on record yet: enter one first (home, m)."
        choices = {"material": [m.code for m in found]}
        app.push_screen(HeadForm(title, DRAFTS[kind], to_notches, given=COMES_IN, choices=choices, note=note))

    page.ask(lambda: materials(app.lab, app.when()), with_materials)


def describe_anew(page: Page, item: ItemShown) -> None:
    """Open the form with what is on record; then the notches of a block; then the reason."""
    app, given = page.refstd, described(item)
    title = f"Describe {item.asset_no} anew"
    hidden = ("asset_no", "state", "location")

    def described_anew(findings: tuple[str, ...]) -> None:
        named = "".join(f"; finding {f} says what that leaves in doubt" for f in findings)
        page.tell(f"{item.asset_no} described anew{named}")
        page.load()

    def with_reason(draft: ItemDraft, notches: tuple[NotchDraft, ...]) -> None:
        form = app.screen
        assert isinstance(form, HeadForm | ReviseGrid)

        def given_why(why: str | None) -> None:
            if why is None:
                return
            if not why.strip():
                form.notify("Say why it is described anew.", severity="error", markup=False)
                return
            form.act(
                lambda op: revise_item(app.lab, draft, why.strip(), notches, by=app.by, now=app.now(), operation=op),
                lambda findings: _close(page, lambda _: described_anew(findings)),
            )

        app.push_screen(AskLine(f"Why is {item.asset_no} described anew?"), given_why)

    def to_notches(draft: ItemDraft) -> None:
        before = [notch_described(n) for n in item.notches]
        app.push_screen(ReviseGrid(f"Notches of {item.asset_no}", before, lambda rows: with_reason(draft, rows)))

    def onward(draft: ItemDraft) -> None:
        if item.kind == "block":
            to_notches(draft)
        else:
            with_reason(draft, ())

    app.push_screen(HeadForm(title, DRAFTS[item.kind], onward, given=given, leave_out=hidden))


class ReviseGrid(GridScreen[NotchDraft]):
    """The notches of a block as on record; those that are changed or added go on, the others keep their description."""

    def __init__(self, title: str, before: list[dict[str, str]], onward: object) -> None:
        rows = before or [{}]
        note = "Change what is wrong, add what is new (F3). A label is for ever: a changed label is a new notch."
        super().__init__(
            title, NotchDraft, NOTCH_COLUMNS, rows, lambda rows, _: rows, lambda _: None, decides="depth_mm",
            row_name="notch", follows=("site", "process"), note=note,
        )  # fmt: skip
        self.before, self.onward = before, onward

    def _done(self, answer: tuple[NotchDraft, ...]) -> None:
        changed = tuple(d for d in answer if not any(_same(d, b) for b in self.before))
        assert callable(self.onward)
        self.onward(changed)


def _same(draft: NotchDraft, before: Mapping[str, str]) -> bool:
    from refstd.tui.record_sections import text_of

    return all(text_of(getattr(draft, f.key)) == before.get(f.key, "") for f in fields_of(NotchDraft))


def _close(page: Page, then: object) -> None:
    """Close the forms above a page and go on there."""
    while page.app.screen is not page:
        page.app.pop_screen()
    assert callable(then)
    then(None)
