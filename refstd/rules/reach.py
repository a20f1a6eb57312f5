"""What an item had a part in: the checks made with it, and the lots examined with a kit that it belonged to.

Both questions of a look-back that begin with no finding: from an item to the work, and from the work to its items.
"""

from collections.abc import Iterable
from datetime import datetime

from refstd.rules.timeline import TimedCheck, TimedLot


class Kits:
    """Which items worked together under each start check, over any number of checks, in one pass."""

    def __init__(self, checks: Iterable[TimedCheck]) -> None:
        """Take every check, corrected ones too: a correction belongs to the line of what it corrects."""
        self.checks = tuple(checks)
        before = {c.id: c.supersedes_id for c in self.checks}
        self._first: dict[int, int] = {}
        for c in self.checks:
            line, at = [], c.id
            while at not in self._first and before.get(at) is not None:
                line.append(at)
                at = before[at] or at
            root = self._first.get(at, at)
            self._first |= dict.fromkeys((*line, at), root)
        self._of: dict[int, set[int]] = {}
        for c in self.checks:
            self._of.setdefault(self._root(c.start_id or c.id), set()).update(c.items)
        self.gone = {c.supersedes_id for c in self.checks}

    def _root(self, check_id: int) -> int:
        return self._first.get(check_id, check_id)

    def under(self, start_id: int) -> frozenset[int]:
        """Return the items of a start check and of every check compared with it, by internal id.

        Which of two cables was in use when a part was examined is not on record between checks, so each of them counts.
        """
        return frozenset(self._of.get(self._root(start_id), ()))

    def checks_with(self, item: int, since: datetime | None, until: datetime) -> tuple[TimedCheck, ...]:
        """Return the checks of a period made with an item that no correction supersedes, oldest first; both ends count."""
        found = (
            c for c in self.checks if item in c.items and c.id not in self.gone and _within(c.happened_at, since, until)
        )
        return tuple(sorted(found, key=lambda c: (c.happened_at, c.id)))

    def lots_with(
        self, lots: Iterable[TimedLot], item: int, since: datetime | None, until: datetime
    ) -> tuple[TimedLot, ...]:
        """Return the lots of a period examined with a kit that an item belonged to, oldest first; both ends count."""
        found = (x for x in lots if item in self.under(x.start_id) and _within(x.examined_at, since, until))
        return tuple(sorted(found, key=lambda x: (x.examined_at, x.id)))


def _within(moment: datetime, since: datetime | None, until: datetime) -> bool:
    return (since is None or moment >= since) and moment <= until
