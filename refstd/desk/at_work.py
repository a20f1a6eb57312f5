"""Which items parts hang on now: those of every start check that no end check has closed."""

from collections.abc import Collection

from sqlalchemy import select

from refstd.desk.happened import members
from refstd.desk.items import items_of
from refstd.desk.jobs import job_shown
from refstd.desk.starts import start_check_of
from refstd.register.checks import ResponseCheck, Setup
from refstd.register.lab import Look
from refstd.register.procedures import Job

END_FIRST = "Make the end check of that work first; a swap test is made outside a job."


def at_work(look: Look) -> dict[int, str]:
    """Return, by internal id, what each item at work does: the job, the start check and its setup, in words."""
    if "at work" not in look.known:
        look.known["at work"] = _gathered(look)
    gathered: dict[int, str] = look.known["at work"]
    return gathered


def first_at_work(look: Look, ids: Collection[int]) -> str:
    """Return what the first of these items that is at work does, with its number in front, '' when none is."""
    busy = at_work(look)
    found = next((i for i in ids if i in busy), None)
    return f"{items_of(look, [found])[found].asset_no} is {busy[found]}" if found is not None else ""


def _gathered(look: Look) -> dict[int, str]:
    pairs = select(ResponseCheck.job_id, ResponseCheck.setup_id).where(
        ResponseCheck.occasion == "start", ResponseCheck.job_id.is_not(None), ResponseCheck.entry <= look.upto
    )
    found: dict[int, str] = {}
    for job_id, setup_id in look.session.execute(pairs.distinct()).all():
        start = start_check_of(look, setup_id, job_id)
        job = job_shown(look, look.session.get_one(Job, job_id)) if start else None
        if start is None or job is None or not job.open:
            continue
        setup = look.session.get_one(Setup, setup_id)
        says = f"at work on job {job.number} since start check {start.number} (setup {setup.number})"
        for number in (*members(setup), start.cable_id, start.adapter_id):
            if number:
                found.setdefault(number, says)
    return found
