"""Reservations against what there is, day by day: where several jobs need the only item, told while it can be helped."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from refstd.base.reason import Reason, Weight

_COUNT = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, slots=True)
class Need:
    """What a job needs one of, from its first to its last day: any of these items. what: such as '6.4 mm bore block'."""

    ref: str
    job: str
    what: str
    items: frozenset[str]
    starts_on: date
    ends_on: date

    def on(self, day: date) -> bool:
        return self.starts_on <= day <= self.ends_on


@dataclass(frozen=True, slots=True)
class Away:
    """An item that cannot be reckoned with from a day on, and why; until somebody sees to it."""

    asset_no: str
    since: date
    why: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """Days on which needs outnumber the items that could serve them, with what cannot be reckoned with by then."""

    starts_on: date
    ends_on: date
    needs: tuple[Need, ...]
    items: tuple[str, ...]
    away: tuple[Away, ...]

    def in_words(self) -> str:
        """Return it as somebody would say it: 'in the week of 9 March two jobs need the only 6.4 mm bore block'."""
        monday = self.starts_on - timedelta(days=self.starts_on.weekday())
        jobs = sorted({n.job for n in self.needs})
        what = self.needs[0].what if len({n.what for n in self.needs}) == 1 else "item that serves them"
        who = f"{_in_words(len(jobs))} job{'s' if len(jobs) > 1 else ''} need{'' if len(jobs) > 1 else 's'}"
        if not self.items:
            says = f"{who} {_a(what)} and there is none"
        elif len(self.items) == 1:
            says = f"{who} the only {what}, {self.items[0]}"
        else:
            says = f"{who} the {_in_words(len(self.items))} {what}s {', '.join(self.items)}"
        days = f"{self.starts_on} to {self.ends_on}" if self.ends_on > self.starts_on else f"{self.starts_on}"
        gone = "; ".join(f"not {a.asset_no}: {a.why}" for a in self.away)
        return f"in the week of {monday.day} {monday:%B %Y} {says} ({', '.join(jobs)}; {days})" + (
            f"; {gone}" if gone else ""
        )


def shortages(needs: Sequence[Need], away: Sequence[Away], today: date) -> tuple[Shortage, ...]:
    """Return every span of days, from today on, on which not every need can have an item of its own.

    Each is as small as the case allows: needs that compete for the same items, and no others. On each day they outnumber
    those items; over all of a day's shortages the needs that go without are as few as any sharing out leaves (the marriage
    theorem of P. Hall, 1935: https://doi.org/10.1112/jlms/s1-10.37.26).
    """
    days = {
        today,
        *(n.starts_on for n in needs),
        *(n.ends_on + timedelta(days=1) for n in needs),
        *(a.since for a in away),
    }
    days = {d for d in days if d >= today}
    found: list[Shortage] = []
    for first, after in zip(sorted(days), [*sorted(days)[1:], date.max], strict=True):
        gone = {a.asset_no for a in reversed(away) if a.since <= first}
        active = [n for n in sorted(needs, key=lambda n: n.ref) if n.on(first)]
        for group in _outnumbered({n.ref: n.items - gone for n in active}):
            those = tuple(n for n in active if n.ref in group)
            wanted = frozenset[str]().union(*(n.items for n in those))
            lacking = tuple(a for a in away if a.asset_no in wanted and a.since <= first)
            this = Shortage(first, after - timedelta(days=1), those, tuple(sorted(wanted - gone)), lacking)
            found.append(this)
    return tuple(sorted(_joined(found), key=lambda s: (s.starts_on, s.needs[0].ref)))


def _outnumbered(choices: Mapping[str, frozenset[str]]) -> list[frozenset[str]]:
    """Return the groups of needs that outnumber the items they could have, after as many as possible have one."""
    has: dict[str, str] = {}  # item: need

    def give(need: str, tried: set[str]) -> bool:
        for item in sorted(choices[need]):
            if item not in tried:
                tried.add(item)
                if item not in has or give(has[item], tried):
                    has[item] = need
                    return True
        return False

    without = [need for need in choices if not give(need, set())]
    groups: list[tuple[set[str], set[str]]] = []
    for need in without:  # all that could hand on to it: whoever of them got nothing, one would
        group, items, todo = {need}, set[str](), [need]
        while todo:
            for item in choices[todo.pop()] - items:
                items.add(item)
                if has[item] not in group:
                    group.add(has[item])
                    todo.append(has[item])
        for other in [g for g in groups if g[0] & group]:
            groups.remove(other)
            group, items = group | other[0], items | other[1]
        groups.append((group, items))
    return [frozenset(group) for group, _ in groups]


def _joined(found: Sequence[Shortage]) -> list[Shortage]:
    """Return spans that follow on each other and say the same as one."""
    joined: list[Shortage] = []
    for s in found:
        before = next((b for b in joined if b.ends_on + timedelta(days=1) == s.starts_on and _same(b, s)), None)
        if before is None:
            joined.append(s)
        else:
            joined[joined.index(before)] = Shortage(before.starts_on, s.ends_on, s.needs, s.items, s.away)
    return joined


def _same(one: Shortage, other: Shortage) -> bool:
    return (one.needs, one.items, one.away) == (other.needs, other.items, other.away)


def shortage_advice(shortage: Shortage, asset_no: str) -> Reason:
    """Return what is advised of an item whose taking leaves others short."""
    others = ", ".join(sorted({n.ref for n in shortage.needs if n.ref}))
    cure = "take another, or agree it with whoever reserved it"
    return Reason("reserved", f"taking {asset_no} leaves a job without: {shortage.in_words()}", record=f"reservation {others}" if others else asset_no, cure=cure, weight=Weight.ADVISES)  # fmt: skip


def _in_words(count: int) -> str:
    return _COUNT[count] if count < len(_COUNT) else str(count)


def _a(word: str) -> str:
    return f"{'an' if word[:1] in 'aeiou8' else 'a'} {word}"
