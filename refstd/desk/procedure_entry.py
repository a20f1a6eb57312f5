"""Filing a revision of a written procedure with its limits, targets and named equipment, each with its paragraph."""

from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from datetime import datetime
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from refstd.base.errors import AlreadyOnRecord, Problem, Refusal
from refstd.base.text import key
from refstd.desk.entry import (
    Draft,
    NeededWords,
    Number,
    OptionalDecimal,
    OptionalNumber,
    OptionalPositive,
    Positive,
    Words,
    YesNo,
    refuse_if,
    row_from,
    whole,
)
from refstd.desk.known import found
from refstd.desk.people import may, someone
from refstd.desk.procedure_acts import (
    DRAFTED,
    keep_act,
    revision_in_force,
    revisions_of,
)
from refstd.desk.procedures import Form, ProcedureShown, procedure_shown
from refstd.desk.requirements import Asked, asked_problems, keep_asked
from refstd.register.lab import Change, Lab
from refstd.register.procedures import (
    Procedure,
    ProcedureItem,
    ProcedureLimit,
    ProcedureMaterial,
    ProcedureRevision,
    ProcedureTarget,
)


class ProcedureDraft(Draft):
    """A revision of a procedure to file. It is in force once it is reviewed and approved, or from a file as approved on paper."""

    code: Number
    issue: NeededWords
    title: NeededWords
    approved_on_paper_by: OptionalNumber = Field(
        None, description="the responsible level 3 whose approval on paper brought it into force"
    )
    editorial: YesNo = Field(False, description="yes: words only, nothing that it requires differs")
    form: Form
    lowest_khz: Positive = Field(title="lowest frequency, kHz")
    highest_khz: Positive = Field(title="highest frequency, kHz")
    frequency_paragraph: NeededWords
    check_every_hours: OptionalPositive = None
    check_paragraph: Words = ""
    needs_baseline: YesNo = False
    baseline_paragraph: Words = ""
    baseline_setups: Annotated[int, BeforeValidator(whole(1, 50))] = Field(
        3, title="independent set-ups for a baseline"
    )
    conductivity_band_percent_iacs: OptionalPositive = Field(None, title="conductivity band, ± %IACS")
    conductivity_paragraph: Words = ""
    temperature_band_c: OptionalPositive = Field(None, title="temperature of part against block, ± °C")
    temperature_paragraph: Words = ""
    tell: NeededWords = Field(description="whom to tell when a check is not acceptable")


class LimitDraft(Draft):
    """One limit of a procedure, in its own unit, with its paragraph."""

    quantity: Literal["amplitude", "phase", "signal to noise"] = "amplitude"
    against: Literal["none", "target", "start check", "baseline"]
    notch: Words = Field("", description="empty: every notch that is read")
    lower: OptionalDecimal = None
    upper: OptionalDecimal = None
    unit: Literal["%", "% FSH", "div", "dB", "°", "ratio"]
    paragraph: NeededWords


class TargetDraft(Draft):
    """The response that a notch is to be set to."""

    notch: NeededWords
    value: Positive
    unit: Literal["% FSH", "div"]
    paragraph: NeededWords


class NamedItemDraft(Draft):
    """Equipment that a procedure names by part number."""

    kind: Literal["block", "probe", "instrument", "accessory"]
    part_no: NeededWords
    standing: Literal["named", "alternate"] = "named"
    paragraph: NeededWords


class AcceptedFamilyDraft(Draft):
    """A block family that a procedure accepts for a part family."""

    part_family: NeededWords
    block_family: NeededWords
    paragraph: NeededWords


def file_procedure(
    lab: Lab,
    draft: ProcedureDraft,
    limits: Sequence[LimitDraft],
    targets: Sequence[TargetDraft] = (),
    named_items: Sequence[NamedItemDraft] = (),
    accepted: Sequence[AcceptedFamilyDraft] = (),
    *,
    asked: Asked | None = None,
    why: str = "",
    by: str,
    now: datetime,
    operation: str = "",
) -> None:
    """File a procedure, or its next revision with the reason.

    It waits for review and approval, and the one before stays in force; what was approved on paper is in force at once, by
    the word of the one who files it, and says so.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "file a procedure")
        keep_procedure(change, draft, limits, targets, named_items, accepted, asked or {}, why)
        paper = {"approved_on_paper_by": draft.approved_on_paper_by} if draft.approved_on_paper_by else {}
        change.record("procedure filed", procedure=draft.code, issue=draft.issue, **paper)


def keep_procedure(
    change: Change,
    draft: ProcedureDraft,
    limits: Sequence[LimitDraft],
    targets: Sequence[TargetDraft],
    named_items: Sequence[NamedItemDraft],
    accepted: Sequence[AcceptedFamilyDraft],
    asked: Asked,
    why: str,
) -> None:
    """Add the rows of a procedure revision and the act of drafting it."""
    approver = someone(change, draft.approved_on_paper_by) if draft.approved_on_paper_by else None
    if approver is not None:
        may(change, "approve a procedure", approver)
    refuse_if([*_problems(draft, limits), *asked_problems(asked)], f"procedure {draft.code}")
    procedure = found(change, Procedure, draft.code)
    before = procedure_shown(change, row) if procedure and (row := revision_in_force(change, procedure.id)) else None
    if draft.editorial and before is None:
        raise Refusal(
            f"procedure {draft.code} has no revision in force that this one could leave as it is",
            "editorial",
            "Only a later revision is editorial.",
        )
    if procedure is None:
        procedure = change.add(Procedure(code=draft.code, code_key=key(draft.code)))
    earlier = revisions_of(change, procedure.id)
    if any(key(r.issue) == key(draft.issue) for r in earlier):
        raise AlreadyOnRecord(
            f"procedure {draft.code} issue {draft.issue} is on record already",
            "",
            "File a new issue under its own name.",
        )
    number = 1 + len(earlier)
    row = change.add(
        row_from(
            ProcedureRevision,
            draft,
            procedure_id=procedure.id,
            revision=number,
            why=why or ("filed" if number == 1 else "revised"),
            approved_on_paper_by_id=approver.person_id if approver else None,
        )
    )
    for place, limit in enumerate(limits, start=1):
        change.add(
            row_from(ProcedureLimit, limit, procedure_revision_id=row.id, place=place, notch_label=limit.notch or None)
        )
    for place, target in enumerate(targets, start=1):
        change.add(
            row_from(ProcedureTarget, target, procedure_revision_id=row.id, place=place, notch_label=target.notch)
        )
    for place, item in enumerate(named_items, start=1):
        change.add(row_from(ProcedureItem, item, procedure_revision_id=row.id, place=place))
    for family in accepted:
        change.add(row_from(ProcedureMaterial, family, procedure_revision_id=row.id))
    keep_asked(change, row.id, asked)
    keep_act(change, row.id, DRAFTED, row.why)
    if draft.editorial and before is not None:
        refuse_if(_differences(before, procedure_shown(change, row)), f"procedure {draft.code}, editorial revision")
    for each in (*earlier, row):
        change.known.pop(("procedure", each.id), None)  # how they stand may have changed


def _differences(before: "ProcedureShown", after: "ProcedureShown") -> list[Problem]:
    """Return what an editorial revision requires otherwise than the one in force. Words and paragraphs may differ."""
    one, other = _required(before), _required(after)
    return [
        Problem(
            field.replace("_", " "),
            f"differs from issue {before.issue}",
            "Leave it as it is, or file it as not editorial.",
        )
        for field in one
        if one[field] != other[field]
    ]


_WORDS = {
    "revision_id", "issue", "title", "approved_on_paper_by", "tell", "editorial", "standing", "why", "acts",
}  # fmt: skip


def _required(shown: "ProcedureShown") -> dict[str, object]:
    return {
        f.name: _bare(getattr(shown, f.name))
        for f in fields(shown)
        if f.name not in _WORDS and "paragraph" not in f.name
    }


def _bare(value: object) -> object:
    """Return a requirement without its paragraph, in any order where there are several."""
    if isinstance(value, tuple):
        return sorted((_bare(v) for v in value), key=repr)
    if is_dataclass(value):
        return {f.name: _bare(getattr(value, f.name)) for f in fields(value) if f.name != "paragraph"}
    return value.normalize() if isinstance(value, Decimal) else value


def _problems(draft: ProcedureDraft, limits: Sequence[LimitDraft]) -> list[Problem]:
    problems = []
    if draft.highest_khz < draft.lowest_khz:
        problems.append(Problem("highest_khz", "is below the lowest frequency", "Exchange the two."))
    if not limits:
        problems.append(Problem("limits", "a procedure without a limit decides nothing", "Give at least one."))
    for field, paragraph, what in (
        (draft.check_every_hours, draft.check_paragraph, "check_paragraph"),
        (draft.needs_baseline or None, draft.baseline_paragraph, "baseline_paragraph"),
        (draft.conductivity_band_percent_iacs, draft.conductivity_paragraph, "conductivity_paragraph"),
        (draft.temperature_band_c, draft.temperature_paragraph, "temperature_paragraph"),
    ):
        if field is not None and not paragraph:
            problems.append(Problem(what, "is missing", "Say which paragraph states it."))
    for place, limit in enumerate(limits, start=1):
        where = f"limit {place}"
        if limit.lower is None and limit.upper is None:
            problems.append(Problem(where, "has neither lower nor upper", "Give at least one."))
        elif limit.lower is not None and limit.upper is not None and limit.lower > limit.upper:
            problems.append(Problem(where, "has its lower above its upper", "Exchange the two."))
        if limit.unit not in _UNITS[limit.quantity, limit.against == "none"]:
            allowed = ", ".join(_UNITS[limit.quantity, limit.against == "none"])
            problems.append(
                Problem(
                    where, f"{limit.quantity} against {limit.against} has no limit in '{limit.unit}'", f"Use {allowed}."
                )
            )
        if limit.quantity == "phase" and limit.against not in ("start check", "baseline"):
            problems.append(Problem(where, "a phase is limited against the start check or the baseline", "Choose one."))
    return problems


_UNITS: dict[tuple[str, bool], tuple[str, ...]] = {
    ("amplitude", True): ("% FSH", "div"),
    ("amplitude", False): ("%", "% FSH", "div", "dB"),
    ("phase", True): ("°",),
    ("phase", False): ("°",),
    ("signal to noise", True): ("ratio", "dB"),
    ("signal to noise", False): (),
}
