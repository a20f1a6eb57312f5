"""The tolerances of an item: setting one for a notch or the whole item, changing it with a reason, ending it."""

from refstd.desk.history import ItemRecord
from refstd.desk.tolerances import ToleranceDraft, ToleranceShown, end_tolerance, set_tolerance
from refstd.tui.asking import AskLine, Choose
from refstd.tui.forms import FormScreen
from refstd.tui.pages import Page
from refstd.tui.record_sections import text_of

NOTE = (
    "For papers filed from now on; those on record stay as judged. Without a decision rule a value is compared and not judged: "
    "there is no default rule. A guard band needs its r (w = r·U)."
)
ANOTHER, CHANGE, END = "set one", "change it", "end it"


def tolerances_for(page: Page, record: ItemRecord, notch: str = "") -> None:
    """Show the tolerances in force, of a notch or of the item, and ask for another one or what to do with one."""
    of = f"notch {notch} of {record.item.asset_no}" if notch else record.item.asset_no
    own = {str(n): t for n, t in enumerate(record.tolerances) if not notch or t.notch == notch}

    def chosen(answer: str | None) -> None:
        if answer in own:
            _with(page, record, own[answer])
        elif answer == ANOTHER:
            _set(page, record, {"notch": notch})

    if own:
        shown = [t.in_words() for t in own.values()]
        page.app.push_screen(
            Choose(f"Tolerances of {of}", [*own, ANOTHER], [*shown, "set one for another value"]), chosen
        )
    else:
        _set(page, record, {"notch": notch})


def _with(page: Page, record: ItemRecord, t: ToleranceShown) -> None:
    app, asset_no = page.refstd, record.item.asset_no

    def ended(why: str | None) -> None:
        if why is not None:
            page.act(
                lambda op: end_tolerance(
                    app.lab, asset_no, t.notch, t.quantity, why, by=app.by, now=app.now(), operation=op
                ),
                lambda _: _told(page, f"{asset_no}: the tolerance of {t.what} is ended"),
            )  # fmt: skip

    def chosen(answer: str | None) -> None:
        if answer == END:
            app.push_screen(AskLine(f"Why does the tolerance of {t.what} hold no longer?"), ended)
        elif answer == CHANGE:
            names = [n for n in ToleranceDraft.model_fields if n not in ("asset_no", "why")]
            _set(page, record, {n: text_of(getattr(t, n)) for n in names})

    app.push_screen(Choose(f"{asset_no}, {t.in_words()}", (CHANGE, END)), chosen)


def _set(page: Page, record: ItemRecord, given: dict[str, str]) -> None:
    app, item = page.refstd, record.item

    def keep(draft: ToleranceDraft, _: object, operation: str) -> ToleranceDraft:
        set_tolerance(app.lab, draft, by=app.by, now=app.now(), operation=operation)
        return draft

    def done(draft: ToleranceDraft) -> None:
        _told(page, f"{draft.asset_no}: {draft.in_words()}; for papers filed from now on")

    app.push_screen(
        FormScreen(
            f"Tolerance of {item.asset_no}", ToleranceDraft, keep, done,
            given={"asset_no": item.asset_no} | given, choices={"notch": [n.label for n in item.notches]},
            leave_out=("asset_no",), note=NOTE,
        )
    )  # fmt: skip


def _told(page: Page, says: str) -> None:
    page.tell(says)
    page.load()
