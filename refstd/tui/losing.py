"""An item is lost, its owner is told, it is found: asked from its record."""

from refstd.desk.items import ItemShown
from refstd.desk.lost import FoundDraft, LossDraft, report_found, report_lost, tell_owner
from refstd.tui.asking import AskLine
from refstd.tui.forms import FormScreen
from refstd.tui.pages import Page


def lost(page: Page, item: ItemShown) -> None:
    """Ask where it was last seen and who was told."""
    app = page.refstd

    def done(number: str) -> None:
        page.tell(f"{item.asset_no} is lost; finding {number} holds it and what it leaves in doubt")
        page.load()

    note = f"{item.asset_no} is held, and every lot whose closing check can no longer be made."
    note += f" It belongs to {item.owner}, who is to be told." if item.owner else ""
    app.push_screen(
        FormScreen(
            f"{item.asset_no} is lost", LossDraft,
            lambda d, _, op: report_lost(app.lab, d, by=app.by, now=app.now(), operation=op), done,
            given={"asset_no": item.asset_no}, leave_out=("asset_no",), note=note,
        )
    )  # fmt: skip


def told(page: Page, item: ItemShown) -> None:
    """Ask who was told of the loss."""
    app = page.refstd

    def given(words: str | None) -> None:
        if words is not None:
            page.act(
                lambda op: tell_owner(app.lab, item.asset_no, words, by=app.by, now=app.now(), operation=op),
                lambda _: done(words),
            )

    def done(words: str) -> None:
        page.tell(f"{item.asset_no}: told {words}")
        page.load()

    app.push_screen(AskLine(f"{item.asset_no} is lost. Who was told, and how?", item.owner), given)


def found(page: Page, item: ItemShown) -> None:
    """Ask where it was found and in which condition."""
    app = page.refstd

    def done(numbers: tuple[str, ...]) -> None:
        held = f"; {', '.join(numbers)} holds it" if numbers else ""
        page.tell(f"{item.asset_no} is found and quarantined: inspect or check it, then s puts it in service{held}")
        page.load()

    leave = ("asset_no",) if item.pieces else ("asset_no", "counts", "part", "area")
    app.push_screen(
        FormScreen(
            f"{item.asset_no} is found", FoundDraft,
            lambda d, _, op: report_found(app.lab, d, by=app.by, now=app.now(), operation=op), done,
            given={"asset_no": item.asset_no}, leave_out=leave, note="It is quarantined, and a loan that was open ends.",
        )
    )  # fmt: skip
