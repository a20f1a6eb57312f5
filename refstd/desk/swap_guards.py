"""What keeps a swap test from starting, and what makes a step one of it: exactly one thing exchanged, and no work that hangs on it."""

from sqlalchemy import select

from refstd.base.errors import AlreadyOnRecord, NotFound, Refusal
from refstd.base.text import key, safe
from refstd.desk.check_facts import start_check_of
from refstd.desk.check_values import SWAP_TEST, CheckDraft
from refstd.desk.happened import events_of, members
from refstd.desk.items import items
from refstd.desk.known import notches_of
from refstd.desk.swap_plan import Origin, exchanged_between
from refstd.register.checks import ResponseCheck, Setup, SwapTest
from refstd.register.equipment import Notch
from refstd.register.lab import Change, Look
from refstd.register.procedures import Job
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


def refuse_as_origin(change: Change, check: ResponseCheck, notch: Notch) -> None:
    """Refuse to start from a check that does not count, that is not the newest of its setup, or that work hangs on."""
    before = begun_from(change, check, notch)
    if before is not None:
        raise AlreadyOnRecord(
            f"swap test {before.number} starts from there already", "", f"Go on with {before.number}."
        )
    if check.occasion in ("set-up", SWAP_TEST):
        raise Refusal(f"{check.number} is a {check.occasion} check", "", "Start from a check made for its own sake.")
    newer = change.session.execute(
        select(ResponseCheck)
        .where(ResponseCheck.setup_id == check.setup_id, ResponseCheck.occasion.not_in(("set-up", SWAP_TEST)))
        .order_by(ResponseCheck.happened_at, ResponseCheck.id)
    ).scalars().all()[-1]  # fmt: skip
    if corrected := corrected_by(change, check):
        raise Refusal(f"{check.number} was corrected by {corrected}", "", f"Start from {corrected}.")
    if newer.id != check.id:
        raise Refusal(
            f"{newer.number} is a newer check of the same setup",
            "",
            f"Start from {newer.number}, if it still deviates.",
        )
    refuse_ended(change, check)
    refuse_at_work(change, change.session.get_one(Setup, check.setup_id))


def ended(look: Look, check: ResponseCheck) -> str:
    """Return what happened to the kit since the check, after which what deviated is not there any more, '' for nothing."""
    setup = look.session.get_one(Setup, check.setup_id)
    kit = [i for i in (*members(setup), check.cable_id, check.adapter_id) if i]
    for event in events_of(look, kit):
        if event.breaks and event.happened_at >= check.happened_at:
            at = f"{event.happened_at.astimezone(look.zone):%Y-%m-%d %H:%M}"
            return f"{event.in_words()} {at}, after check {check.number}: what deviated then is not there as it was"
    return ""


def refuse_ended(change: Change, check: ResponseCheck) -> None:
    """Refuse to start or go on after a repair or an exchange of a part."""
    if says := ended(change, check):
        raise Refusal(says, "", "Make a check anew, and begin a swap test from it if it still deviates.")


def refuse_at_work(change: Change, setup: Setup) -> None:
    """Refuse while parts are examined under a start check of this setup: an exchange there is that job's matter."""
    jobs = select(ResponseCheck.job_id).where(ResponseCheck.setup_id == setup.id, ResponseCheck.job_id.is_not(None))
    for job_id in change.session.execute(jobs.distinct()).scalars():
        start = start_check_of(change, setup.id, job_id)
        if start is not None:
            job = change.session.get_one(Job, job_id)
            raise Refusal(
                f"setup {setup.number} is at work on job {job.number} since start check {start.number}", "",
                "Make the end check of that work first; a swap test is made outside a job.",
            )  # fmt: skip


def one_thing_alone(origin: Origin, setup: Setup, thing: Exchanged, draft: CheckDraft) -> CheckDraft:
    """Return the step's check with occasion and procedure, or refuse when not exactly one thing is exchanged."""
    if draft.job:
        raise Refusal("a swap test is made outside a job", f"job {draft.job}", "Leave out the job.")
    differs = exchanged_between(origin.setup, setup)
    cable, adapter = draft.cable or "", draft.adapter or origin.adapter
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
    return draft.model_copy(
        update={
            "occasion": SWAP_TEST, "procedure": draft.procedure or origin.procedure, "cable": cable or None,
            "adapter": adapter or None,
        }
    )  # fmt: skip
