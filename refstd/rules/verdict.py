"""The serviceability verdict: may this equipment be relied on, and if not, why not."""

from dataclasses import dataclass
from enum import StrEnum

from refstd.base.errors import Exit
from refstd.base.reason import Reason, Weight

CAUTION = "refstd advises; the written procedure, local rules and certified personnel decide."


class Standing(StrEnum):
    """How far an item or a kit may be relied on."""

    SERVICEABLE = "serviceable"
    LIMITED_USE = "limited use"
    DO_NOT_USE = "do not use"


EXIT_OF = {Standing.SERVICEABLE: Exit.YES, Standing.LIMITED_USE: Exit.LIMITED_USE, Standing.DO_NOT_USE: Exit.NO}
_RANK = {Weight.STOPS: 0, Weight.LIMITS: 1, Weight.UNDECIDED: 2, Weight.ADVISES: 3, Weight.SUPPORTS: 4}


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one item or one kit, with all its reasons. `struck` names what limited use leaves out."""

    subject: str
    standing: Standing
    reasons: tuple[Reason, ...]
    struck: tuple[str, ...] = ()

    def headline(self) -> str:
        """Return the verdict in one line, the same on every list, screen and report."""
        out = f", without {', '.join(self.struck)}" if self.struck else ""
        first = next((r.says for r in self.reasons if r.weight is Weight.STOPS), "")
        return f"{self.standing}{out}" + (f": {first}" if first else "")

    def in_words(self) -> tuple[str, ...]:
        """Return the headline and every reason, one line each."""
        return (self.headline(), *(r.in_words() for r in self.reasons))


def verdict_from(subject: str, reasons: list[Reason], struck: list[str]) -> Verdict:
    """Return the verdict that follows from the reasons: one that stops, stops; else one that limits, limits."""
    ordered = tuple(sorted(reasons, key=lambda r: (_RANK[r.weight], r.rule, r.record, r.says)))
    weights = {r.weight for r in ordered}
    if Weight.STOPS in weights:
        standing = Standing.DO_NOT_USE
    elif Weight.LIMITS in weights:
        standing = Standing.LIMITED_USE
    else:
        standing = Standing.SERVICEABLE
    return Verdict(subject, standing, ordered, tuple(sorted(set(struck))))
