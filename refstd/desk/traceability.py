"""From a job to the papers that its measurements trace to: each item on each day, its certificate then, and the one behind it.

A secondary block traces through its comparison to the primary's certificate. What no paper was on record for is a row too.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from refstd.desk.comparison_record import comparisons_in
from refstd.desk.history import CertificateShown, certificates_within
from refstd.desk.items import ItemShown
from refstd.desk.jobs import JobShown
from refstd.desk.known import named
from refstd.desk.reach import CheckMade, rested_within
from refstd.register.equipment import Equipment
from refstd.register.lab import Lab, Look, When


@dataclass(frozen=True, slots=True)
class Traced:
    """One step: an item on a day, by what it traces (a paper of its own, or a comparison), the certificate, the checks."""

    day: str
    item: ItemShown
    through: str
    certificate: CertificateShown | None
    checks: tuple[CheckMade, ...]

    def uncertainties(self) -> str:
        """Return the certified values with U and k in one line."""
        if self.certificate is None:
            return ""
        said = []
        for v in self.certificate.values:
            if v.stage == "as found" and any(
                o.stage == "as left" and o.notch == v.notch for o in self.certificate.values
            ):
                continue  # adjusted: what it was left at is what was used
            u = f", U {v.expanded_uncertainty:f} {v.unit}" if v.expanded_uncertainty is not None else ", U not stated"
            k = f" (k = {v.coverage_factor:f})" if v.coverage_factor is not None else ""
            said.append(f"{v.notch or v.quantity}: {v.value:f} {v.unit}{u}{k}")
        return "; ".join(said)

    def gaps(self) -> tuple[str, ...]:
        """Return what a paper leaves open, in words."""
        c = self.certificate
        if c is None:
            return ("no certificate for that day on record",)
        asked = (
            (c.accreditation, "accreditation not stated"),
            (c.traceability, "traceability not stated"),
            (c.paper_sha256, "no paper attached"),
        )
        return tuple(says for there, says in asked if not there)


def traceability(lab: Lab, job: str, when: When) -> tuple[JobShown, tuple[Traced, ...]]:
    """Return every step from a job to the papers that it traces to, day by day."""
    with lab.look(when) as look:
        return traced_within(look, job)


def traced_within(look: Look, job: str) -> tuple[JobShown, tuple[Traced, ...]]:
    """Return the same within a look."""
    found = rested_within(look, job)
    rows: list[Traced] = []
    for r in found.rows:
        own = [
            Traced(r.day, r.item, "its own certificate", c, r.checks) for c in _of_day(look, r.item.equipment_id, r.day)
        ]
        own += _through_comparison(look, r.item, r.day, r.checks)
        rows += own or [Traced(r.day, r.item, "nothing", None, r.checks)]
    return found.job, tuple(rows)


def _through_comparison(look: Look, item: ItemShown, day: str, checks: tuple[CheckMade, ...]) -> Iterator[Traced]:
    if item.kind != "block":
        return
    made = [
        c
        for c in comparisons_in(look, item.equipment_id)
        if c.secondary == item.asset_no
        and not c.corrected_by
        and f"{c.happened_at.astimezone(look.zone):%Y-%m-%d}" <= day
    ]
    if not made:
        return
    newest = max(made, key=lambda c: c.happened_at)
    said = f"comparison {newest.number} with {newest.primary}: {newest.outcome}"
    primary = named(look, Equipment, newest.primary).id
    done = f"{newest.happened_at.astimezone(look.zone):%Y-%m-%d}"
    papers = _of_day(look, primary, done) or (None,)
    for paper in papers:
        yield Traced(day, item, said, paper, checks)


def _of_day(look: Look, equipment_id: int, day: str) -> tuple[CertificateShown, ...]:
    """Return the newest certificate of each activity that counts and was done by a day."""
    known: dict[int, tuple[CertificateShown, ...]] = look.known.setdefault("certificates shown", {})
    if equipment_id not in known:
        known[equipment_id] = certificates_within(look, equipment_id)
    newest = {c.activity: c for c in known[equipment_id] if c.in_force and c.performed_on <= day}
    return tuple(newest[activity] for activity in sorted(newest))
