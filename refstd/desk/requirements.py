"""What a procedure revision asks for beside its limits: as entered, as kept, and as shown."""

from collections.abc import Mapping, Sequence
from typing import Any, Literal

from pydantic import Field
from sqlalchemy import select

from refstd.base.errors import Problem
from refstd.desk.entry import (
    DecisionRule,
    Draft,
    NeededWords,
    OptionalDecimal,
    OptionalPercent,
    OptionalPositive,
    OptionalWhole,
    Positive,
    ValueUnit,
    Words,
    YesNo,
    row_from,
)
from refstd.register.lab import Change, Look
from refstd.register.procedures import ProcedureTolerance
from refstd.register.requirements import (
    ProcedureNotchAdvice,
    ProcedureOccasion,
    ProcedurePartReading,
    ProcedureQualification,
    ProcedureScan,
    ProcedureVision,
)
from refstd.rules.asked_tolerances import AskedTolerance
from refstd.rules.certified import DEPTH
from refstd.rules.conformity import limit_problems, rule_problems
from refstd.rules.requirements import (
    AskedOccasion,
    NotchAdvice,
    PartReading,
    QualificationNeeded,
    Requirements,
    Scan,
    Vision,
)


class ScanDraft(Draft):
    """How a procedure has the surface scanned. What it does not say stays empty."""

    largest_speed_mm_s: OptionalPositive = None
    least_overlap_percent: OptionalPositive = None
    largest_index_mm: OptionalPositive = None
    directions: Literal["", "1", "2"] = ""
    paragraph: NeededWords


class OccasionDraft(Draft):
    """An occasion on which a procedure asks for a check."""

    occasion: Literal[
        "start", "interval", "end", "exchange", "operator", "power off", "program recalled", "knocked", "tape renewed",
        "doubt",
    ]  # fmt: skip
    paragraph: NeededWords


class NotchAdviceDraft(Draft):
    """What a procedure asks of the sizes of a block's notches."""

    fewest_sizes: OptionalWhole = None
    bracketing: YesNo = False
    paragraph: NeededWords


class PartReadingDraft(Draft):
    """The limit of the phase shift from block to part."""

    largest_phase_shift_deg: Positive
    paragraph: NeededWords


class VisionDraft(Draft):
    """A test of vision that a procedure asks for."""

    kind: Literal["near vision", "colour"]
    every_months: OptionalWhole = None
    paragraph: NeededWords


class QualificationNeededDraft(Draft):
    """The qualification that a procedure asks of the one who examines."""

    method: NeededWords
    level: Literal["1", "2", "3"]
    sector: Words = ""
    paragraph: NeededWords


class AskedToleranceDraft(Draft):
    """What a procedure asks of a certified value of the block: limits, a largest U, and the decision rule if it names one."""

    quantity: NeededWords = Field(DEPTH, description="such as depth, length, width, conductivity")
    notch: Words = Field("", description="empty: every notch, or the whole block for what is none of a notch")
    against: Literal["none", "nominal"] = Field(
        "none", description="nominal: the limits are how far it may be from its nominal"
    )
    lower: OptionalDecimal = None
    upper: OptionalDecimal = None
    largest_uncertainty: OptionalPositive = Field(None, title="largest U (k = 2)")
    largest_uncertainty_percent: OptionalPercent = Field(
        None, title="largest U, % of the value", description="with both, the lesser counts"
    )
    unit: ValueUnit = "mm"
    decision_rule: DecisionRule = Field("", description="none by default: then nothing is judged, only compared")
    guard_ratio: OptionalDecimal = Field(None, title="guard band ratio r (w = r·U)")
    paragraph: NeededWords


# name of the rows → (draft, table, how many at most)
ASKED: Mapping[str, tuple[type[Draft], Any, int]] = {
    "scan": (ScanDraft, ProcedureScan, 1),
    "occasions": (OccasionDraft, ProcedureOccasion, 10),
    "notch_advice": (NotchAdviceDraft, ProcedureNotchAdvice, 1),
    "part_reading": (PartReadingDraft, ProcedurePartReading, 1),
    "vision_asked": (VisionDraft, ProcedureVision, 2),
    "qualification_asked": (QualificationNeededDraft, ProcedureQualification, 1),
    "tolerances_asked": (AskedToleranceDraft, ProcedureTolerance, 50),
}
Asked = Mapping[str, Sequence[Draft]]


def asked_problems(asked: Asked) -> list[Problem]:
    """Return what is wrong with the rows of a revision."""
    problems = []
    for name, rows in asked.items():
        title = name.replace("_", " ")
        if len(rows) > ASKED[name][2]:
            problems.append(Problem(title, f"stands {len(rows)} times", f"Give at most {ASKED[name][2]}."))
        for field in ("occasion", "kind"):
            said = [getattr(r, field) for r in rows if hasattr(r, field)]
            for twice in sorted({s for s in said if said.count(s) > 1}):
                problems.append(Problem(title, f"'{twice}' stands twice", "Keep one of the two."))
        for place, row in enumerate(rows, start=1):
            if isinstance(row, AskedToleranceDraft):
                problems += _tolerance_problems(row, f"{title} {place}")
            elif all(v in (None, "", False) for k, v in row.model_dump().items() if k != "paragraph"):
                problems.append(Problem(title, "asks for nothing", "Fill in what it asks, or leave it out."))
            overlap = getattr(row, "least_overlap_percent", None)
            if overlap is not None and overlap >= 100:
                problems.append(Problem(title, f"an overlap of {overlap} % leaves no way on", "Give less than 100 %."))
    return problems


def _tolerance_problems(row: AskedToleranceDraft, where: str) -> list[Problem]:
    """Return what contradicts itself in what is asked of a certified value."""
    limited = row.lower is not None or row.upper is not None
    found = [*limit_problems(row.lower, row.upper, "lower"), *rule_problems(row.decision_rule, row.guard_ratio)]
    if not limited and row.largest_uncertainty is None and row.largest_uncertainty_percent is None:
        found.append(Problem("", "asks for nothing", "Give a limit of the value, or the largest U."))
    if not limited and (row.decision_rule or row.against == "nominal"):
        found.append(
            Problem("", "names a rule or a nominal without a limit of the value", "Give the limit, or leave both out.")
        )
    return [Problem(", ".join(x for x in (where, p.where) if x), p.wrong, p.remedy) for p in found]


def keep_asked(change: Change, revision_id: int, asked: Asked) -> None:
    """Add the rows of a revision."""
    for name, rows in asked.items():
        table = ASKED[name][1]
        placed = "place" in table.__table__.columns
        for place, row in enumerate(rows, start=1):
            more: dict[str, object] = {"place": place} if placed else {}
            if hasattr(row, "notch"):
                more["notch_label"] = row.notch or None
            for field in ("directions", "level"):
                if hasattr(row, field):
                    more[field] = int(getattr(row, field)) if getattr(row, field) else None
            change.add(row_from(table, row, procedure_revision_id=revision_id, **more))


def requirements_of(look: Look, revision_id: int) -> Requirements:
    """Return what a revision asks for beside its limits."""

    def of(kind: Any) -> list[Any]:
        query = select(kind).where(kind.procedure_revision_id == revision_id).order_by(kind.id)
        return list(look.session.execute(query).scalars())

    def one(kind: Any, shown: Any) -> Any:
        return next((shown(row) for row in of(kind)), None)

    return Requirements(
        one(ProcedureScan, lambda r: Scan(r.largest_speed_mm_s, r.least_overlap_percent, r.largest_index_mm, r.directions, r.paragraph)),
        tuple(AskedOccasion(r.occasion, r.paragraph) for r in of(ProcedureOccasion)),
        one(ProcedureNotchAdvice, lambda r: NotchAdvice(r.fewest_sizes, r.bracketing, r.paragraph)),
        one(ProcedurePartReading, lambda r: PartReading(r.largest_phase_shift_deg, r.paragraph)),
        tuple(Vision(r.kind, r.every_months, r.paragraph) for r in of(ProcedureVision)),
        one(ProcedureQualification, lambda r: QualificationNeeded(r.method, r.level, r.sector, r.paragraph)),
        tuple(
            AskedTolerance(
                r.quantity, r.notch_label or "", r.against, r.lower, r.upper, r.largest_uncertainty, r.largest_uncertainty_percent, r.unit,
                r.decision_rule, r.guard_ratio, r.paragraph,
            )
            for r in of(ProcedureTolerance)
        ),
    )  # fmt: skip
