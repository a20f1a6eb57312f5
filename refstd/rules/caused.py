"""What an event causes: what stood before it held side by side with what stands after, in plain words.

The same comparison serves before an event is kept, for the person who is about to keep it, and after, on its record.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from refstd.base.reason import Reason, Weight
from refstd.rules.events import ASKS_ANEW, CLAUSE, NEW_START, Ended


@dataclass(frozen=True, slots=True)
class Situation:
    """What events mean for an item and its work at one moment.

    ended: the start checks of open jobs that events ended, each with the lots under it that wait for a check. series: by
    setup with a baseline, the instants at which the item broke its record since. reasons: what events say of the item.
    """

    ended: tuple[tuple[Ended, tuple[str, ...]], ...] = ()
    series: Mapping[str, tuple[datetime, ...]] = field(default_factory=dict)
    reasons: tuple[Reason, ...] = ()


@dataclass(frozen=True, slots=True)
class Caused:
    """What an act about an event changed: new, and taken back. `held` are lots, in words, that it put under a finding."""

    ended: tuple[tuple[Ended, tuple[str, ...]], ...]
    resumed: tuple[Ended, ...]
    held: tuple[str, ...]
    broken: tuple[str, ...]
    joined: tuple[str, ...]
    said: tuple[Reason, ...]
    unsaid: tuple[Reason, ...]

    @property
    def stops(self) -> bool:
        """Return whether the item may not be used any more because of it."""
        return any(r.weight is Weight.STOPS for r in self.said)

    def in_words(self) -> tuple[str, ...]:
        """Return what changed, one fact a line, what stops work first."""
        lines = [f"Do not use it: {_told(r)}" for r in self.said if r.weight is Weight.STOPS]
        for start, waiting in self.ended:
            lines += _end_in_words(start, waiting)
        if self.held:
            lines.append(f"Held by a finding, since no check can cover them any more: {', '.join(self.held)}.")
        told = {f"check {start.start}" for start, _ in self.ended}
        lines += [_told(r) for r in self.said if r.weight is not Weight.STOPS and r.record not in told]
        if self.broken:
            setups, its = _setups(self.broken)
            lines.append(
                f"The record of {setups} breaks: readings before and after are not compared. Take {its} baseline anew."
            )
        lines += [f"Start check {_where(start)} covers work again." for start in self.resumed]
        if self.joined:
            lines.append(f"The record of {_setups(self.joined)[0]} is one again.")
        back = {f"check {start.start}" for start in self.resumed}
        lines += [f"No longer said: {r.says}." for r in self.unsaid if r.record not in back]
        return tuple(lines) or (NOTHING,)


NOTHING = "No running start check, no lot and no series with a baseline is touched."


def caused(before: Situation, after: Situation, held: Sequence[str]) -> Caused:
    """Return what changed between two situations, with the lots that were held meanwhile."""
    was = {_key(start): start for start, _ in before.ended}
    now = {_key(start) for start, _ in after.ended}
    setups = sorted({*before.series, *after.series})
    gained = {s: set(after.series.get(s, ())) - set(before.series.get(s, ())) for s in setups}
    lost = {s: set(before.series.get(s, ())) - set(after.series.get(s, ())) for s in setups}
    return Caused(
        tuple((start, lots) for start, lots in after.ended if was.get(_key(start)) != start),
        tuple(start for start, _ in before.ended if _key(start) not in now),
        tuple(held),
        tuple(s for s in setups if gained[s]),
        tuple(s for s in setups if lost[s] and not after.series.get(s)),
        tuple(r for r in after.reasons if r not in before.reasons),
        tuple(r for r in before.reasons if r not in after.reasons),
    )


def _key(start: Ended) -> tuple[str, str, str]:
    return start.setup, start.job, start.start


def _where(start: Ended) -> str:
    return f"{start.start} of setup {start.setup} on job {start.job}"


def _end_in_words(start: Ended, waiting: Sequence[str]) -> list[str]:
    lines = [f"Start check {_where(start)} covers no more work: {NEW_START} ({CLAUSE})."]
    if any(e.breaks for e in start.events):
        lines.append("No end check can close the work under it: before and after is not one record of one thing.")
    elif waiting:
        lines.append(
            f"In doubt until an end check: {', '.join(waiting)}. Made with the kit as it is now, it still closes them; "
            "a new start check without it holds them."
        )
    return lines


def _setups(numbers: Sequence[str]) -> tuple[str, str]:
    return (f"setup {numbers[0]}", "its") if len(numbers) == 1 else (f"setups {', '.join(numbers)}", "each")


def _told(r: Reason) -> str:
    """Return a reason without its record, which is the item at hand; the source where it rests on one."""
    source = f" ({r.source})" if r.source else ""
    if r.rule == ASKS_ANEW:
        return f"{r.says}{source}."
    return f"{r.says}{source}" + (f" → {r.cure}." if r.cure else ".")
