"""Telling the story through the front door: every act is a use case of the desk, at its instant, by its person."""

import random
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from refstd.desk import custody, lots
from refstd.desk.checks import CheckDraft, CheckVerdict, ReadingDraft, record_check
from refstd.desk.entry import Draft, draft_or_refuse
from refstd.desk.store import Lab

from .responses import Happening, Occasion, Shown
from .setups import SetUp

T = TypeVar("T")
D = TypeVar("D", bound=Draft)
ZONE = ZoneInfo("Europe/Dublin")
CHAIN = "5a3b1c52-7d34-4e0e-9a51-0c5e6f2d1b07"  # the sample lab's own, so that two builds are one
SEED = 20240304


def at(day: date, clock: str) -> datetime:
    """Return the instant of a local time of the lab."""
    return datetime.combine(day, time.fromisoformat(clock), ZONE).astimezone(UTC)


def operation(count: int) -> str:
    """Return the identity of the n-th act of the story."""
    return str(uuid.uuid5(uuid.UUID(CHAIN), str(count)))


def draft(kind: type[D], /, **fields: Any) -> D:
    """Return a draft as if a person had filled the form."""
    return draft_or_refuse(kind, {name: str(value) for name, value in fields.items()}, kind.__name__)


@dataclass(frozen=True, slots=True)
class Event:
    """Something that is done at an instant. Events of one instant are told in the order in which they were listed."""

    instant: datetime
    tell: Callable[["Telling"], None]


@dataclass(slots=True)
class Telling:
    """The story so far: the open lab, how many acts there were, the dice, what happened to items, what is not at hand."""

    lab: Lab
    happenings: tuple[Happening, ...]
    now: datetime
    acts: int = 1  # the first made the store
    dice: random.Random = field(default_factory=lambda: random.Random(SEED))
    absent: set[str] = field(default_factory=set)
    findings: list[str] = field(default_factory=list)  # opened so far, by number
    starts: dict[str, tuple[str, Shown, Occasion]] = field(default_factory=dict)  # by job: start check, display, chance

    def do(self, use_case: Callable[..., T], *given: Any, by: str, **more: Any) -> T:
        """Do one act now."""
        self.acts += 1
        return use_case(self.lab, *given, by=by, now=self.now, operation=operation(self.acts), **more)

    @property
    def day(self) -> date:
        return self.now.astimezone(ZONE).date()

    def check(
        self,
        setup: SetUp,
        occasion: str,
        shown: Shown,
        *,
        by: str,
        expect: str = "acceptable",
        repeat: Shown | None = None,
        **more: str,
    ) -> CheckVerdict:
        """Record a response check. The story knows how it ends; a different outcome is a mistake in the story."""
        second = readings_of(repeat) if repeat else ()
        verdict = self.do(record_check, check_of(setup, occasion, shown, **more), readings_of(shown), second, by=by)
        if verdict.outcome != expect:
            raise RuntimeError(f"{self.now}: {setup.number} {occasion}: {verdict.headline()}, the story says {expect}")
        return verdict

    def take(self, job: str, *assets: str, by: str, due_back_on: date | None = None) -> None:
        """Check a kit out."""
        self.do(custody.check_out, job, assets, due_back_on=due_back_on, by=by)
        self.absent.update(assets)

    def bring(self, *assets: str, by: str, condition: str = "sound", sound: bool = True) -> tuple[str, ...]:
        """Check a kit in."""
        self.absent.difference_update(assets)
        return self.do(custody.check_in, assets, sound=sound, condition=condition, by=by)

    def lot(self, job: str, parts: str, zone: str = "", *, by: str) -> str:
        """Log parts as examined under the job's start check."""
        start = self.starts[job][0]
        logged: lots.LotLogged = self.do(
            lots.log_lot, draft(lots.LotDraft, job=job, start_check=start, parts=parts, zone=zone), by=by
        )
        return logged.number


def check_of(setup: SetUp, occasion: str, shown: Shown, **more: str) -> CheckDraft:
    """Return the settings of a check."""
    fields = {"cable": setup.cable, "noise": setup.noise, "nulled": "yes", "phase_set": "yes"} | more
    return draft(
        CheckDraft, setup=setup.number, occasion=occasion, rotation_deg=shown.rotation_deg,
        horizontal_gain_db=shown.horizontal_gain_db, vertical_gain_db=shown.vertical_gain_db, **fields,
    )  # fmt: skip


def readings_of(shown: Shown) -> tuple[ReadingDraft, ...]:
    """Return readings as a person types them from the screen."""
    return tuple(draft(ReadingDraft, notch=n, horizontal=h, vertical=v) for n, h, v in shown.readings)
