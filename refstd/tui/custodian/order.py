"""The order test, step by step: read a still signal, turn the rotation, read it again, see what both tell, keep it."""

from refstd.base.errors import Refusal
from refstd.desk.items import ItemShown
from refstd.desk.order_tests import (
    FirstReadingDraft,
    OrderTestDraft,
    OrderTestShown,
    SecondReadingDraft,
    figures_in_words,
    order_told,
    record_order_test,
)
from refstd.tui.asking import AskLine, Choose
from refstd.tui.grid import HeadForm
from refstd.tui.pages import Page

FIRST = (
    "Set horizontal and vertical gain apart, best 12 dB. Balance, then hold the probe still on one signal, such as a notch, in a "
    "fixture if there is one. Read it. Nothing is on record before the end."
)
SECOND = "Leave the probe where it is and touch no gain. Turn the rotation from {0}° by 40° to 60° and read the same signal again."
KEEP, BACK = "keep", "back"


def order_test_of(page: Page, item: ItemShown) -> None:
    """Ask for both readings, show what they tell, and put it on record with the order in the instrument's description."""
    app, title = page.refstd, f"Order test of {item.asset_no}"

    def kept(shown: OrderTestShown) -> None:
        while app.screen is not page:
            app.pop_screen()
        questioned = f"; finding {shown.finding} names the checks that rest on another order" if shown.finding else ""
        page.tell(f"{item.asset_no}: {shown.found}{questioned}")
        page.load()

    def keep(form: HeadForm[SecondReadingDraft], draft: OrderTestDraft) -> None:
        form.act(lambda op: record_order_test(app.lab, draft, by=app.by, now=app.now(), operation=op), kept)

    def look(form: HeadForm[SecondReadingDraft], draft: OrderTestDraft) -> None:
        told = order_told(draft)
        if told.order is None:
            form.refused(Refusal(told.why_not, "", told.cure))
            return
        before = item.special["display_order"]
        against = f"\nOn record is {before}." if before not in ("unknown", told.order) else ""
        question = "\n".join((f"{item.asset_no}: {told.order}.{against}", *figures_in_words(told)))

        def answered(answer: str | None) -> None:
            if answer == KEEP and against:
                app.push_screen(AskLine(f"Why is {before}, which is on record, wrong?"), given_why)
            elif answer == KEEP:
                keep(form, draft)

        def given_why(why: str | None) -> None:
            if why and why.strip():
                keep(form, draft.model_copy(update={"why": why.strip()}))
            elif why is not None:
                form.refused(Refusal("another order is on record", "", "Say why that was wrong, or read both anew."))

        shown = (f"Put it on record: {told.order}, by two readings", "Go back to the readings")
        app.push_screen(Choose(question, (KEEP, BACK), shown), answered)

    left: dict[str, str] = {}  # the second reading as typed, while somebody goes back to the first

    def second(first: FirstReadingDraft) -> None:
        def onward(draft: SecondReadingDraft) -> None:
            look(form, OrderTestDraft(**first.model_dump(), **draft.model_dump()))

        note = SECOND.format(format(first.first_rotation_deg, "f"))
        form: HeadForm[SecondReadingDraft] = HeadForm(
            f"{title}, reading 2 of 2",
            SecondReadingDraft,
            onward,
            leave_out=("happened_at", "why"),
            note=note,
            given=left,
        )
        form.typed_left = left
        app.push_screen(form)

    app.push_screen(
        HeadForm(
            f"{title}, reading 1 of 2", FirstReadingDraft, second, given={"asset_no": item.asset_no}, leave_out=("asset_no",),
            note=FIRST,
        )
    )  # fmt: skip
