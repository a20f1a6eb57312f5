"""What a label on an item says on the day it is printed. The code on it holds the asset number only: that never goes stale.

A label ages, the register does not: of an item that may not be used no due date is named, so that no valid-looking date
sticks to a quarantined block.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from refstd.base.errors import WrongUsage
from refstd.desk.serviceability import Standing, Status, status_within
from refstd.register.lab import Lab, When

IN_SERVICE = "in service"
MOST_LABELS = 500


@dataclass(frozen=True, slots=True)
class Label:
    """The words on one label. heading: what must be seen first, '' for an item in service without limits."""

    asset_no: str
    name: str
    state: str
    heading: str
    lines: tuple[str, ...]
    not_for_use: bool
    printed_on: date


def labels(lab: Lab, when: When, asset_nos: Sequence[str]) -> tuple[Label, ...]:
    """Return a label for each item as it stands now, in the order asked for, each once."""
    if when.as_at is not None or when.today is not None:
        raise WrongUsage(
            "a label says how an item stands on the day it is printed",
            "--as-at, --today",
            "Use neither; on the screens, go back to now.",
        )
    asked = tuple(dict.fromkeys(asset_nos))
    if not asked:
        raise WrongUsage("no item is named", "ASSET", "Name the items that need a label.")
    if len(asked) > MOST_LABELS:
        raise WrongUsage(
            f"{len(asked)} labels are too many at once", "ASSET", f"Name at most {MOST_LABELS} items at a time."
        )
    with lab.look(when) as look:
        return tuple(_label(s, look.today) for s in status_within(look, asked))


def _label(s: Status, today: date) -> Label:
    item, verdict = s.item, s.verdict
    if verdict.standing is Standing.DO_NOT_USE:
        first = verdict.headline().partition(": ")[2]
        why = (first,) if item.state == IN_SERVICE and first else ()
        return Label(item.asset_no, item.name, item.state, "NOT FOR USE", why, True, today)
    owed = sorted(((d.deferred_to(today) or d.due_on, d) for d in s.duties), key=lambda x: x[0] or date.max)
    due = [
        f"{d.activity} due {on}" + (" (deferred)" if d.deferred_to(today) else "") for on, d in owed if on is not None
    ]
    limited = verdict.standing is Standing.LIMITED_USE
    without = (f"without {', '.join(verdict.struck)}",) if limited and verdict.struck else ()
    return Label(item.asset_no, item.name, item.state, "LIMITED USE" if limited else "", (*without, *due), False, today)
