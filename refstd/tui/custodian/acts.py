"""What a custodian does to an item besides describing it: its state, its schedule, a finding, a withdrawn certificate."""

from refstd.desk.certificates import withdraw_certificate
from refstd.desk.findings import FindingDraft, open_finding
from refstd.desk.items import ItemShown
from refstd.desk.schedules import ScheduleDraft, schedule_begun, set_schedule
from refstd.desk.states import StateDraft, set_state
from refstd.tui.asking import AskLine
from refstd.tui.forms import FormScreen
from refstd.tui.pages import Page


def change_state(page: Page, item: ItemShown) -> None:
    """Ask for state, reason and place."""
    app = page.refstd

    def done(kept: tuple[str, tuple[str, ...]]) -> None:
        state, found = kept
        held = f"; the repair is on record, and {', '.join(found)} holds the lots that no check covers" if found else ""
        page.tell(f"{item.asset_no}: {state}{held}")
        page.load()

    def keep(draft: StateDraft, _: object, operation: str) -> tuple[str, tuple[str, ...]]:
        found = set_state(
            app.lab, item.asset_no, draft.state, draft.why, location=draft.location, by=app.by, now=app.now(), operation=operation
        )  # fmt: skip
        return draft.state, found

    note = f"{item.asset_no} is {item.state}" + (f", {item.location}" if item.location else "") + "."
    app.push_screen(FormScreen(f"State of {item.asset_no}", StateDraft, keep, done, note=note))


def schedule_for(page: Page, asset_no: str, activity: str = "") -> None:
    """Ask for what the item owes; beginning from the schedule in force of an activity, where one is named."""
    app = page.refstd

    def done(_: object) -> None:
        page.tell(f"{asset_no}: schedule set")
        page.load()

    note = (
        "Months or days, not both; uses beside them, whichever comes first; none of them: owed once. A schedule for the same "
        "activity takes the place of the one in force; say why."
    )

    def ask(begun: dict[str, str]) -> None:
        app.push_screen(
            FormScreen(
                f"Schedule of {asset_no}", ScheduleDraft,
                lambda d, _, op: set_schedule(app.lab, d, by=app.by, now=app.now(), operation=op), done,
                given={"asset_no": asset_no} | begun, leave_out=("asset_no",), note=note,
            )
        )  # fmt: skip

    lab, when = app.lab, app.when()
    page.ask(lambda: schedule_begun(lab, asset_no, activity, when) if activity else {}, ask)


def finding_on(page: Page, asset_no: str) -> None:
    """Ask for what is wrong; the item is held from then on."""
    app = page.refstd

    def done(number: str) -> None:
        page.tell(f"finding {number} opened; {asset_no} is held until it is released")
        page.load()

    app.push_screen(
        FormScreen(
            f"Finding on {asset_no}", FindingDraft,
            lambda d, _, op: open_finding(app.lab, d, by=app.by, now=app.now(), operation=op), done,
            given={"item": asset_no}, leave_out=("item", "setup"),
            note=f"{asset_no} is held from now on, until someone with the authority releases it.",
        )
    )  # fmt: skip


def withdraw(page: Page, asset_no: str, number: str) -> None:
    """Ask for the reason, then withdraw a certificate."""
    app = page.refstd

    def given(why: str | None) -> None:
        if why is None:
            return
        page.act(
            lambda op: withdraw_certificate(app.lab, asset_no, number, why, by=app.by, now=app.now(), operation=op),
            lambda _: done(),
        )

    def done() -> None:
        page.tell(f"certificate {number} of {asset_no} withdrawn; it stays on record")
        page.load()

    app.push_screen(AskLine(f"Why is certificate {number} of {asset_no} withdrawn?"), given)
