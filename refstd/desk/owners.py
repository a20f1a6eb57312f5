"""Items that belong to somebody else, and when they go back."""

from dataclasses import dataclass
from datetime import date

from refstd.desk.duties import NOT_IN_USE
from refstd.desk.items import items
from refstd.register.lab import Lab, Look, When
from refstd.rules.due import DueState, state_of


@dataclass(frozen=True, slots=True)
class ReturnDue:
    """An item that goes back to its owner on a day; where it is now. days: until then, negative when it has passed."""

    asset_no: str
    name: str
    kind: str
    owner: str
    return_on: date
    state: DueState
    days: int
    where: str

    @property
    def activity(self) -> str:
        return f"return to {self.owner}"

    def in_words(self) -> str:
        late = "past its return date" if self.days < 0 else "return date"
        return (
            f"{self.asset_no} {self.name} of {self.owner}: {late} {self.return_on}, {self.where or 'place not given'}"
        )


def returns(lab: Lab, when: When) -> tuple[ReturnDue, ...]:
    """Return every item that goes back to its owner, the soonest first."""
    with lab.look(when) as look:
        return returns_within(look)


def returns_within(look: Look, *, within_days: int | None = None) -> tuple[ReturnDue, ...]:
    """Return the items that go back, within a look; `within_days` keeps those that go by then and those that are late."""
    found = []
    for item in items(look).values():
        if item.return_on is None or item.state in NOT_IN_USE:
            continue
        days = (item.return_on - look.today).days
        if within_days is not None and days > within_days:
            continue
        where = f"out with {item.loan.holder} for job {item.loan.job}" if item.loan else item.location
        state = state_of(item.return_on, look.today, look.due_soon_days)
        found.append(ReturnDue(item.asset_no, item.name, item.kind, item.owner, item.return_on, state, days, where))
    return tuple(sorted(found, key=lambda r: (r.return_on, r.asset_no)))
