"""What refstd refuses: what is wrong, where, and what to do.

    Refusal                      3   refused by a rule
    ├── WrongUsage               2   the request itself cannot be understood
    │   └── BadInput             2   somebody's data has problems; all of them are listed together
    ├── NotFound                 3   nothing on record under that number
    ├── AlreadyOnRecord          3   that number is taken
    ├── NotAllowed               3   the person lacks the role or the authority
    ├── AlreadyOut               3   the item is lent
    └── StoreUnusable            4   missing, foreign, newer, damaged, locked or read-only

A verdict is never an error: 'not acceptable' and 'do not use' are answers, with exit code 1.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum


class Exit(IntEnum):
    """The exit codes of every command."""

    YES = 0
    NO = 1
    WRONG_USAGE = 2
    REFUSED = 3
    STORE_UNUSABLE = 4
    LIMITED_USE = 5
    NOT_CONCLUSIVE = 6
    FAULT = 70
    INTERRUPTED = 130


class Refusal(Exception):
    """Something refstd will not do. `wrong` says what is wrong, `where` locates it, `remedy` is the next step."""

    exit_code = Exit.REFUSED

    def __init__(self, wrong: str, where: str = "", remedy: str = "") -> None:
        self.wrong, self.where, self.remedy = wrong, where, remedy
        super().__init__(wrong, where, remedy)

    def __str__(self) -> str:
        place = f" ({self.where})" if self.where else ""
        step = f" {self.remedy}" if self.remedy else ""
        return f"{self.wrong}{place}.{step}"


class WrongUsage(Refusal):
    """The request itself cannot be understood."""

    exit_code = Exit.WRONG_USAGE


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in somebody's data: `where` is a row and column, or a field's name."""

    where: str
    wrong: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.where}: {self.wrong}." + (f" {self.remedy}" if self.remedy else "")


class BadInput(WrongUsage):
    """Data that came in has problems. All are listed; nothing was written."""

    def __init__(self, what: str, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        count = "1 problem" if len(self.problems) == 1 else f"{len(self.problems)} problems"
        super().__init__(f"{what}: {count}, nothing was written", "", "")
        self.what = what

    def __reduce__(self) -> tuple[type["BadInput"], tuple[str, tuple[Problem, ...]]]:
        return type(self), (self.what, self.problems)

    def __str__(self) -> str:
        return "\n".join([f"{self.wrong}.", *(f"  {p}" for p in self.problems)])


class NotFound(Refusal):
    """Nothing is on record under that number."""


class AlreadyOnRecord(Refusal):
    """That number is taken; numbers are never used again."""


class NotAllowed(Refusal):
    """The person lacks the role or the authority."""


class AlreadyOut(Refusal):
    """The item is lent; `where` names holder, job and since when."""


class StoreUnusable(Refusal):
    """The file cannot be used as a store; nothing was changed."""

    exit_code = Exit.STORE_UNUSABLE
