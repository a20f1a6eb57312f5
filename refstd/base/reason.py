"""The shape of a reason: one shape everywhere, on screen, in lists, reports and JSON."""

from dataclasses import asdict, dataclass
from enum import StrEnum


class Weight(StrEnum):
    """What a reason does to the verdict it belongs to."""

    STOPS = "stops"  # do not use, not acceptable, refused
    LIMITS = "limits"  # limited use: names what is struck out
    UNDECIDED = "undecided"  # not conclusive
    ADVISES = "advises"  # worth knowing; changes nothing
    SUPPORTS = "supports"  # a limit that was kept, shown with its figure


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a verdict is what it is.

    `rule` names the rule; `says` is the sentence for a person; `figure` and `limit` carry their units; `source` is
    where the limit comes from (document and paragraph); `record` is what the figure was read from; `cure` is the
    next step.
    """

    rule: str
    says: str
    figure: str = ""
    limit: str = ""
    source: str = ""
    record: str = ""
    cure: str = ""
    weight: Weight = Weight.STOPS

    def as_dict(self) -> dict[str, str]:
        """Return the reason as JSON has it."""
        return {k: str(v) for k, v in asdict(self).items()}

    def in_words(self) -> str:
        """Return the reason in one line: sentence, figure against limit with its source, record, cure."""
        parts = [self.says]
        if self.figure and self.limit:
            parts.append(f"{self.figure}, limit {self.limit}" + (f" ({self.source})" if self.source else ""))
        elif self.figure:
            parts.append(self.figure)
        elif self.source:
            parts.append(f"({self.source})")
        if self.record:
            parts.append(f"[{self.record}]")
        if self.cure:
            parts.append(f"→ {self.cure}")
        return " ".join(parts)
