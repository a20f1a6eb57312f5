"""The certified depth that each reading rests on, and what is asked when its paper is corrected or withdrawn."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import select

from refstd.base.quantity import plain, with_unit
from refstd.base.reason import Reason
from refstd.desk.certified import kept_outcomes, point_as_filed
from refstd.desk.holds import keep_finding
from refstd.desk.papers import standing_certificates, values_of
from refstd.register.certificates import Certificate, CertifiedValue
from refstd.register.checks import Reading, ResponseCheck
from refstd.register.equipment import Equipment, Notch
from refstd.register.lab import Change, Look
from refstd.register.revisions import standing
from refstd.rules.certified import DEPTH, badness, point_reasons, quantity_key

MOST_NAMED = 12  # checks that a finding's sentence names; the look-back has them all


@dataclass(frozen=True, slots=True)
class DepthUsed:
    """The certified depth of a notch that a reading rests on, with U and k as printed, judged as on the day of filing."""

    notch: str
    value: Decimal
    unit: str
    expanded_uncertainty: Decimal | None
    coverage_factor: Decimal | None
    stage: str
    certificate: str
    against: tuple[
        Reason, ...
    ] = ()  # what stood against it when its paper was filed, such as that its notch is struck out

    def figure(self) -> str:
        """Return the depth with U and k."""
        u, k = self.expanded_uncertainty, self.coverage_factor
        spread = (
            ""
            if u is None
            else f" (U = {with_unit(plain(u), self.unit)}{f', k = {plain(k)}' if k is not None else ''})"
        )
        return f"{with_unit(plain(self.value), self.unit)}{spread} {self.stage}"


@dataclass(frozen=True, slots=True)
class CheckUse:
    """A check with a reading that rests on a certified value that was asked for, and the notches of those readings."""

    number: str
    happened_at: datetime
    outcome: str
    notches: tuple[str, ...]


def depths_in_force(papers: Sequence[Certificate], look: Look, on: date) -> dict[int, int]:
    """Return the certified depth in force on a day, by internal ids: notch to value.

    `papers` are those on record now, oldest first: a check written down late rests on what was true on its day, and on
    no paper that is known by now to be wrong. As left counts where a paper has both.
    """
    found: dict[int, int] = {}
    for paper in papers:
        if paper.performed_on <= on:
            depths = [v for v in values_of(look, paper.id) if v.notch_id and quantity_key(v.quantity) == DEPTH]
            judged = kept_outcomes(look, [v.id for v in depths])
            # Last of a notch: as left before as found, and of several points the worst, as the verdict has it.
            depths.sort(key=lambda v: (v.stage == "as left", badness(point_as_filed(paper, v, "", judged.get(v.id)))))
            found |= {v.notch_id: v.id for v in depths if v.notch_id}
    return found


def depths_used(look: Look, check: ResponseCheck) -> tuple[DepthUsed, ...]:
    """Return the certified depths that the readings of a kept check rest on, in their order."""
    rows = look.session.execute(
        select(CertifiedValue, Certificate, Notch.label, Equipment.asset_no)
        .join(Reading, Reading.certified_value_id == CertifiedValue.id)
        .join(Certificate, Certificate.id == CertifiedValue.certificate_id)
        .join(Notch, Notch.id == Reading.notch_id)
        .join(Equipment, Equipment.id == Certificate.equipment_id)
        .where(Reading.check_id == check.id)
        .order_by(Reading.place)
    ).all()
    judged = kept_outcomes(look, [v.id for v, *_ in rows])
    return tuple(
        DepthUsed(
            label, v.value, v.unit, v.expanded_uncertainty, v.coverage_factor, v.stage, paper.number,
            tuple(point_reasons(asset_no, point_as_filed(paper, v, label, judged.get(v.id)), "", [])),
        )
        for v, paper, label, asset_no in rows
    )  # fmt: skip


def checks_that_used(look: Look, certificate_id: int) -> tuple[CheckUse, ...]:
    """Return the checks with a reading that rests on a value of a certificate and that nothing supersedes, oldest first."""
    return checks_on_values(look, [v.id for v in values_of(look, certificate_id)])


def checks_on_values(look: Look, values: Collection[int]) -> tuple[CheckUse, ...]:
    """Return the checks with a reading that rests on one of these certified values (internal ids), oldest first."""
    rows = look.session.execute(
        standing(ResponseCheck, look.upto, Reading.certified_value_id.in_(values))
        .join(Reading, Reading.check_id == ResponseCheck.id)
        .join(Notch, Notch.id == Reading.notch_id)
        .with_only_columns(ResponseCheck.number, ResponseCheck.happened_at, ResponseCheck.outcome, Notch.label)
        .order_by(None)
        .order_by(ResponseCheck.happened_at, ResponseCheck.id, Reading.place)
    )
    found: dict[tuple[str, datetime, str], list[str]] = {}
    for number, moment, outcome, label in rows:
        found.setdefault((number, moment, outcome), []).append(label)
    return tuple(CheckUse(*head, tuple(notches)) for head, notches in found.items())


def question_uses(change: Change, item: Equipment, before: Certificate, later: Certificate | None, why: str) -> str:
    """Open a finding that names the checks that rest on a paper which is now corrected (`later`) or withdrawn.

    Returns its number, '' where no check rests on it. It holds nothing: a verdict is on responses, and whether another
    depth changes what was decided with them is for a person to say.
    """
    used = checks_that_used(change, before.id)
    if not used:
        return ""
    done = f"corrected by {later.number}" if later else "withdrawn"
    named = ", ".join(u.number for u in used[:MOST_NAMED]) + (
        f" and {len(used) - MOST_NAMED} more" if len(used) > MOST_NAMED else ""
    )
    many = "1 check rests" if len(used) == 1 else f"{len(used)} checks rest"
    says = f"certificate {before.number} of {item.asset_no} is {done} ({why.strip()}); {many} on its depths: {named}"
    moved = _moved(change, before, later, {n for u in used for n in u.notches}) if later else ""
    return keep_finding(change, "certificate", f"{says}{moved}", certificate=before)


def _moved(change: Change, before: Certificate, later: Certificate, notches: set[str]) -> str:
    """Return how the depths that were used are now, in words."""
    was, now = (depths_in_force([p], change, p.performed_on) for p in (before, later))
    said = []
    for notch, value in was.items():
        label = change.session.get_one(Notch, notch).label
        if label in notches:
            after = _depth(change, now[notch]) if notch in now else "none"
            if after != _depth(change, value):
                said.append(f"notch {label} {_depth(change, value)}, now {after}")
    return f"; {'; '.join(said)}" if said else "; none of these depths changed"


def _depth(change: Change, value_id: int) -> str:
    v = change.session.get_one(CertifiedValue, value_id)
    return DepthUsed("", v.value, v.unit, v.expanded_uncertainty, v.coverage_factor, v.stage, "").figure()


def certified_then(look: Look, block_id: int, moment: datetime) -> tuple[int | None, dict[int, int]]:
    """Return the block's calibration in force at an instant, and the depth of each notch in force, by internal ids."""
    on = moment.astimezone(look.zone).date()
    papers = standing_certificates(look, block_id)
    done = [p.id for p in papers if p.activity == "calibration" and p.performed_on <= on]
    return done[-1] if done else None, depths_in_force(papers, look, on)
