"""What keeps a swap test from starting, and what makes a step one of it: exactly one thing exchanged, and no work that hangs on it."""

from collections.abc import Collection

from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, NotFound, Refusal
from refstd.base.text import key, safe
from refstd.desk.at_work import END_FIRST, first_at_work
from refstd.desk.check_values import SWAP_TEST
from refstd.desk.happened import events_of, members
from refstd.desk.items import items
from refstd.desk.known import notches_of, of_kind
from refstd.desk.swap_origin import MEMBERS, Origin, exchanged_between
from refstd.desk.swap_partners import cable_against, unfit
from refstd.desk.swap_plan import staying
from refstd.register.checks import ResponseCheck, Setup, SwapTest
from refstd.register.equipment import Notch
from refstd.register.lab import Look
from refstd.rules.swaps import Exchanged


def corrected_by(look: Look, check: ResponseCheck) -> str:
    """Return the number of the record that corrects a check, '' for none."""
    later = select(ResponseCheck.number).where(
        ResponseCheck.supersedes_id == check.id, ResponseCheck.entry <= look.upto
    )
    return look.session.execute(later).scalar() or ""


def notch_of_check(look: Look, check: ResponseCheck, label: str) -> Notch:
    """Return the notch of a check's block by its label, or refuse."""
    block_id = look.session.get_one(Setup, check.setup_id).block_id
    there = notches_of(look, block_id)
    if key(label) not in there:
        block = items(look)[block_id].asset_no
        raise NotFound(
            f"{block} has no notch '{safe(label)}'", "", f"Its notches: {', '.join(n.label for n in there.values())}."
        )
    return there[key(label)]


def begun_from(look: Look, check: ResponseCheck, notch: Notch) -> SwapTest | None:
    """Return the swap test that started from a notch of a check."""
    return look.session.execute(
        select(SwapTest).where(
            SwapTest.check_id == check.id, SwapTest.notch_id == notch.id, SwapTest.entry <= look.upto
        )
    ).scalars().first()  # fmt: skip


def refuse_as_origin(look: Look, check: ResponseCheck, notch: Notch) -> None:
    """Refuse to start from a check that does not count, that is not the newest of its setup, or that work hangs on."""
    before = begun_from(look, check, notch)
    if before is not None:
        raise AlreadyOnRecord(
            f"swap test {before.number} starts from there already", "", f"Go on with {before.number}."
        )
    if check.occasion in ("set-up", SWAP_TEST):
        raise Refusal(f"{check.number} is a {check.occasion} check", "", "Start from a check made for its own sake.")
    newer = look.session.execute(
        select(ResponseCheck)
        .where(ResponseCheck.setup_id == check.setup_id, ResponseCheck.entry <= look.upto, ResponseCheck.occasion.not_in(("set-up", SWAP_TEST)))
        .order_by(ResponseCheck.happened_at, ResponseCheck.id)
    ).scalars().all()[-1]  # fmt: skip
    if corrected := corrected_by(look, check):
        raise Refusal(f"{check.number} was corrected by {corrected}", "", f"Start from {corrected}.")
    if newer.id != check.id:
        raise Refusal(
            f"{newer.number} is a newer check of the same setup",
            "",
            f"Start from {newer.number}, if it still deviates.",
        )
    refuse_ended(look, check)
    setup = look.session.get_one(Setup, check.setup_id)
    refuse_at_work(look, [i for i in (*members(setup), check.cable_id, check.adapter_id) if i])


def ended(look: Look, check: ResponseCheck) -> str:
    """Return what happened to the kit since the check, after which what deviated is not there any more, '' for nothing."""
    setup = look.session.get_one(Setup, check.setup_id)
    kit = [i for i in (*members(setup), check.cable_id, check.adapter_id) if i]
    for event in events_of(look, kit):
        if event.breaks and event.happened_at >= check.happened_at:
            at = f"{event.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
            return f"{event.in_words()} {at}, after check {check.number}: what deviated then is not there as it was"
    return ""


def refuse_ended(look: Look, check: ResponseCheck) -> None:
    """Refuse to start or go on after a repair or an exchange of a part."""
    if says := ended(look, check):
        raise Refusal(says, "", "Make a check anew, and begin a swap test from it if it still deviates.")


def refuse_at_work(look: Look, ids: Collection[int]) -> None:
    """Refuse while parts are examined under a start check with one of these items: an exchange there is that job's matter."""
    if busy := first_at_work(look, ids):
        raise Refusal(busy, "", END_FIRST)


def refuse_step(look: Look, origin: Origin, setup: Setup, thing: Exchanged, cable: str) -> None:
    """Refuse a step whose items are at work, or in which what comes in may not: told before anything is read."""
    refuse_at_work(look, [*staying(origin, thing), *([] if thing == "cable" else [getattr(setup, MEMBERS[thing])])])
    if thing != "cable":
        stops = unfit(look, getattr(setup, MEMBERS[thing]))
    else:
        stops = cable_against(look, origin, items(look)[of_kind(look, cable, "accessory").id]) if cable else ""
    if stops:
        raise Refusal(f"{origin.names()[thing]} is not exchanged for this: {stops}", "", f"Take another {thing}.")


def one_thing_alone(
    origin: Origin, setup: Setup, thing: Exchanged, cable: str, adapter: str = ""
) -> tuple[str | None, str | None]:
    """Return the step's cable and adapter, or refuse when not exactly one thing is exchanged."""
    differs = exchanged_between(origin.setup, setup)
    adapter = adapter or origin.adapter
    if thing != "cable":
        cable = cable or origin.cable
    others = {
        "cable": thing != "cable" and bool(origin.cable) and key(cable) != key(origin.cable),
        "adapter": bool(origin.adapter) and key(adapter) != key(origin.adapter),
        "conditions": setup.conditions_key != origin.setup.conditions_key,
    } | {k: k in differs for k in ("probe", "block", "instrument") if k != thing}
    too_much = [name for name, changed in others.items() if changed]
    if too_much:
        raise Refusal(
            f"not the {thing} alone is exchanged: {', '.join(too_much)} too", f"setup {setup.number} against {origin.setup.number}",
            "Exchange one thing at a time, everything else as it was first.",
        )  # fmt: skip
    same = key(cable) == key(origin.cable) and bool(cable) if thing == "cable" else thing not in differs
    if same:
        raise Refusal(
            f"the {thing} is not exchanged: it is {origin.names()[thing]} again", "", f"Take another {thing}."
        )
    return cable or None, adapter or None
