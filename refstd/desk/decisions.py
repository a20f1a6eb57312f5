"""What somebody with the authority decided against advice, a hold, a date or an interval, with the reason.

No decision changes a verdict. What authority can do beside it stands here: let a kit go out against advice, decide and
release findings, defer due dates, set another interval than the one on record.
"""

from dataclasses import dataclass
from datetime import datetime

from refstd.desk.against import against_in
from refstd.desk.deferrals import deferrals_in
from refstd.desk.findings import findings_in
from refstd.desk.intervals import reviews_in
from refstd.desk.reach import period
from refstd.register.lab import Lab, Look, When


@dataclass(frozen=True, slots=True)
class Decision:
    """One decision: of what kind, about which record, by whom, why, and how it stands."""

    kind: str
    record: tuple[str, str]  # kind and number of the record that it is about
    says: str
    person: str
    authority: str
    why: str
    happened_at: datetime
    stands: str


def decisions(lab: Lab, when: When, since: str = "", until: str = "") -> tuple[Decision, ...]:
    """Return the decisions of a period, newest first; both days count, '' is open."""
    with lab.look(when) as look:
        return decisions_within(look, since, until)


def decisions_within(look: Look, since: str = "", until: str = "") -> tuple[Decision, ...]:
    """Return the same within a look."""
    first, last = period(look, since, until)
    found = [d for d in _all(look) if (first is None or d.happened_at >= first) and d.happened_at <= last]
    return tuple(sorted(found, key=lambda d: d.happened_at, reverse=True))


def _all(look: Look) -> list[Decision]:
    found = [
        Decision(
            "against advice", ("job", a.job), f"{', '.join(a.items)} to {a.taken_by}; advised: {'; '.join(a.advised)}",
            a.decided_by, a.authority, a.why, a.happened_at, "",
        )
        for a in against_in(look)
    ]  # fmt: skip
    for f in findings_in(look):
        for a in f.actions:
            if a.kind != "note":
                kind = "hold released" if a.kind == "release" else "finding decided"
                says = f"{f.cause}: {f.says}; holds {f.holds_and_freed()}"
                stands = "released" if f.released else "held"
                found.append(
                    Decision(kind, ("finding", f.number), says, a.person, a.authority, a.says, a.happened_at, stands)
                )
    for d in deferrals_in(look):
        kind = "deferral withdrawn" if d.withdrawn else "date deferred"
        says = f"{d.activity} due on {d.due_on}" + ("" if d.withdrawn else f", deferred to {d.until}")
        found.append(Decision(kind, ("item", d.asset_no), says, d.person, "quality", d.why, d.happened_at, d.stands))
    for r in reviews_in(look):
        kind = "interval changed" if r.taken else "proposal turned down"
        says = f"{r.activity}: {r.interval_before}, proposed {r.interval_proposed} ({r.method})"
        found.append(Decision(kind, ("item", r.asset_no), says, r.person, "", r.why, r.happened_at, ""))
    return found
