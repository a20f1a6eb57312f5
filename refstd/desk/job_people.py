"""Who worked on a job, and whether they could sign for its lots on the days of their work."""

from dataclasses import dataclass
from datetime import datetime

from refstd.base.reason import Reason
from refstd.desk.check_facts import checks_of
from refstd.desk.jobs import JobShown, job_named, lots_of
from refstd.desk.people import code_of
from refstd.desk.qualifications import standing_to_sign
from refstd.register.lab import Lab, Look, When
from refstd.rules.qualified import against_signing


@dataclass(frozen=True, slots=True)
class JobPerson:
    """Somebody who made checks or signed for lots of a job. against: (day, what stood against signing on it)."""

    person: str
    against: tuple[tuple[str, Reason], ...]
    in_order: tuple[Reason, ...]  # of the last day of work

    def in_words(self) -> str:
        """Return what stood against signing by day; where nothing did, to what day each thing counts."""
        if self.against:
            return "; ".join(f"{day}: {r.in_words()}" for day, r in self.against)
        return "; ".join(r.says for r in self.in_order)


def job_people(lab: Lab, number: str, when: When) -> tuple[JobPerson, ...]:
    """Return who worked on a job, by code."""
    with lab.look(when) as look:
        return job_people_within(look, job_named(look, number))


def job_people_within(look: Look, job: JobShown) -> tuple[JobPerson, ...]:
    """Return who worked on a job within a look: judged on each day of work, from what is on record at the look's instant."""
    acts = [(c.person_id, c.happened_at) for c in checks_of(look, job_id=job.job_id)]
    acts += [(lot.person_id, lot.happened_at) for lot, _ in lots_of(look, job_id=job.job_id)]
    days: dict[int, dict[str, datetime]] = {}
    for person_id, moment in sorted(acts, key=lambda a: a[1]):
        days.setdefault(person_id, {})[str(moment.astimezone(look.zone).date())] = moment
    found = []
    for person_id, worked in days.items():
        told = {day: standing_to_sign(look, person_id, job.procedure, moment) for day, moment in worked.items()}
        against = tuple((day, r) for day, reasons in told.items() for r in against_signing(reasons))
        found.append(JobPerson(code_of(look, person_id), against, tuple(told.values())[-1]))
    return tuple(sorted(found, key=lambda p: p.person))
