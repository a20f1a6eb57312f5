"""What people type or import, checked whole: every problem is listed, and nothing is written until there is none."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Annotated, Any, Literal, TypeVar, get_args, get_origin
from zoneinfo import ZoneInfo

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError
from pydantic_core import PydanticCustomError

from refstd.base.errors import BadInput, Problem, WrongUsage
from refstd.base.quantity import decimal_as_written
from refstd.base.text import kept, number_problem, safe
from refstd.register.columns import Base

D = TypeVar("D", bound="Draft")
B = TypeVar("B", bound=Base)


class Draft(BaseModel):
    """Something about to be put on record. Frozen; unknown fields are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def raise_problem(problem: Problem) -> None:
    """Say a problem from within a field's validator."""
    raise PydanticCustomError("refstd", "{wrong}|{remedy}", {"wrong": problem.wrong, "remedy": problem.remedy})


def _words(value: object) -> str:
    form, problem = kept(str(value if value is not None else ""), "")
    if problem:
        raise_problem(problem)
    return form


def _needed_words(value: object) -> str:
    form, problem = kept(str(value if value is not None else ""), "", empty=False)
    if problem:
        raise_problem(problem)
    return form


def _number_of_ours(value: object) -> str:
    form = str(value or "").strip().upper()
    problem = number_problem(form, "")
    if problem:
        raise_problem(problem)
    return form


def _written(low: str | None, high: str | None) -> Any:
    def check(value: object) -> Decimal:
        if isinstance(value, Decimal):
            value = format(value, "f")
        number = decimal_as_written(str(value if value is not None else ""), "", low=low, high=high)
        if isinstance(number, Problem):
            raise_problem(number)
        assert isinstance(number, Decimal)
        return number

    return check


def _optional(check: Any) -> Any:
    def maybe(value: object) -> Any:
        return None if value is None or (isinstance(value, str) and not value.strip()) else check(value)

    return maybe


FIRST_YEAR, LAST_YEAR = 1900, 2999  # beyond them a day is a slip, and counting from it runs over the calendar's end


def day_from_words(text: object, where: str = "") -> date | Problem:
    """Return a civil day from ISO text, or the problem."""
    try:
        found = date.fromisoformat(str(text).strip())
    except ValueError:
        return Problem(where, f"'{safe(text)[:40]}' is not a date", "Write YYYY-MM-DD.")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        return Problem(where, f"{found} is out of range", f"Give a day from {FIRST_YEAR} to {LAST_YEAR}.")
    return found


def _day(value: object) -> date:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    found = day_from_words(value)
    if isinstance(found, Problem):
        raise_problem(found)
    assert isinstance(found, date)
    return found


def whole(low: int, high: int) -> Any:
    def check(value: object) -> int:
        form = str(value).strip()
        if not (form.isascii() and form.isdigit()):
            raise_problem(Problem("", f"'{safe(form)[:40]}' is not a whole number", f"Give one from {low} to {high}."))
        number = int(form)
        if not low <= number <= high:
            raise_problem(Problem("", f"{number} is out of range", f"Give one from {low} to {high}."))
        return number

    return check


_YES, _NO = {"yes", "true", "1", "y"}, {"no", "false", "0", "n", ""}


def _flag(value: object) -> bool:
    form = str(value if value is not None else "").strip().lower()
    if form in _YES:
        return True
    if form not in _NO:
        raise_problem(Problem("", f"'{safe(form)[:40]}' is neither yes nor no", "Write yes or no."))
    return False


Words = Annotated[str, BeforeValidator(_words)]
NeededWords = Annotated[str, BeforeValidator(_needed_words)]
Number = Annotated[str, BeforeValidator(_number_of_ours)]
OptionalNumber = Annotated[str | None, BeforeValidator(_optional(_number_of_ours))]
Positive = Annotated[Decimal, BeforeValidator(_written("0.000001", None))]
OptionalPositive = Annotated[Decimal | None, BeforeValidator(_optional(_written("0.000001", None)))]
OptionalPercent = Annotated[Decimal | None, BeforeValidator(_optional(_written("0.000001", "100")))]
AnyDecimal = Annotated[Decimal, BeforeValidator(_written(None, None))]
OptionalDecimal = Annotated[Decimal | None, BeforeValidator(_optional(_written(None, None)))]
GainDb = Annotated[Decimal, BeforeValidator(_written("-40", "140"))]
OptionalCelsius = Annotated[Decimal | None, BeforeValidator(_optional(_written("-60", "100")))]
RotationDeg = Annotated[Decimal, BeforeValidator(_written("-360", "360"))]
Day = Annotated[date, BeforeValidator(_day)]
OptionalDay = Annotated[date | None, BeforeValidator(_optional(_day))]
OptionalWhole = Annotated[int | None, BeforeValidator(_optional(whole(1, 10_000)))]
OneOrTwo = Annotated[int, BeforeValidator(whole(1, 2))]
ValueUnit = Literal["mm", "µm", "%IACS", "MS/m", "dB", "°", "%", "kHz"]  # of a certified value and its limits
DecisionRule = Literal["", "simple", "guard band", "iso 14253-1"]  # '' for none: there is no default rule
YesNo = Annotated[bool, BeforeValidator(_flag)]


def read_draft(kind: type[D], values: Mapping[str, object], where: str = "") -> tuple[D | None, list[Problem]]:
    """Return the draft, or None with every problem of it; `where` names the row or form in front of the field."""
    try:
        return kind.model_validate(dict(values)), []
    except ValidationError as error:
        return None, [_problem(e, where) for e in error.errors(include_url=False)]


def draft_or_refuse(kind: type[D], values: Mapping[str, object], what: str) -> D:
    """Return the draft, or refuse with all its problems."""
    draft, problems = read_draft(kind, values)
    if draft is None:
        raise BadInput(what, problems)
    return draft


def refuse_if(problems: list[Problem], what: str) -> None:
    """Refuse when there are problems, with all of them."""
    if problems:
        raise BadInput(what, problems)


def _problem(error: Any, where: str) -> Problem:
    field = ".".join(str(p) for p in error["loc"])
    place = ", ".join(p for p in (where, field) if p)
    if error["type"] == "refstd":
        return Problem(place, error["ctx"]["wrong"], error["ctx"]["remedy"])
    if error["type"] == "missing":
        return Problem(place, "is missing", "Give a value.")
    if error["type"] == "extra_forbidden":
        return Problem(place, "is not a field of this kind", "Remove it, or check its spelling.")
    if error["type"] == "literal_error":
        shown = safe(error["input"])[:40]
        return Problem(
            place, f"'{shown}' is not allowed" if shown else "is missing", f"Give one of {error['ctx']['expected']}."
        )
    return Problem(place, safe(error["msg"]), "Correct it.")


def row_from(record: type[B], draft: Draft, **more: object) -> B:
    """Return a row with every column that the draft has a field for, and these."""
    names = record.__table__.columns.keys()
    return record(**{n: getattr(draft, n) for n in names if n in type(draft).model_fields and n not in more}, **more)


@dataclass(frozen=True, slots=True)
class FormField:
    """A field as a form shows it and a CSV column names it."""

    key: str
    title: str
    needed: bool
    choices: tuple[str, ...]
    default: str
    help: str


def fields_of(kind: type[Draft]) -> tuple[FormField, ...]:
    """Return the fields of a kind of draft, in order, for forms and for the documentation of import files."""
    shown = []
    for name, field in kind.model_fields.items():
        annotation = field.annotation
        choices = get_args(annotation) if get_origin(annotation) is Literal else ()
        default = "" if field.is_required() or field.default is None else str(field.default)
        if isinstance(field.default, bool):
            default = "yes" if field.default else "no"
        title = field.title or name.replace("_", " ")
        shown.append(
            FormField(
                name, title, field.is_required(), tuple(str(c) for c in choices), default, field.description or ""
            )
        )
    return tuple(shown)


def is_bare_date(text: str) -> bool:
    """Return whether an instant in ISO text is a day without a time."""
    return len(text.strip()) == 10


def start_of_day(text: str, zone: ZoneInfo) -> datetime:
    """Return the first moment of a bare date in the lab's zone, an instant with a time as it is."""
    moment = instant_from_words(text, zone)
    return datetime.combine(moment.date(), time(), zone) if is_bare_date(text) else moment


def instant_from_words(text: str, zone: ZoneInfo) -> datetime:
    """Return an instant from ISO text; without an offset it is the lab's local time. A bare date is its last moment."""
    form = text.strip()
    try:
        moment = datetime.fromisoformat(form.replace("Z", "+00:00"))
    except ValueError as error:
        raise WrongUsage(
            f"'{safe(form)[:40]}' is not an instant", "", "Write YYYY-MM-DD or YYYY-MM-DDTHH:MM."
        ) from error
    if not FIRST_YEAR <= moment.year <= LAST_YEAR:
        raise WrongUsage(
            f"'{safe(form)[:40]}' is out of range", "", f"Give an instant from {FIRST_YEAR} to {LAST_YEAR}."
        )
    if is_bare_date(form):
        return datetime.combine(moment.date() + timedelta(days=1), time(), zone) - timedelta(microseconds=1)
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)
