"""Block and part at one temperature: a limit of the procedure where it states one, a published one as advice otherwise.

10 K change the conductivity of aluminium by about 4 % (MEMORY), less than 0.2 dB of a notch's amplitude, but they move the
balance and decide a conductivity reading.
"""

from dataclasses import dataclass
from decimal import Decimal

from refstd.base.quantity import plain
from refstd.base.reason import Reason, Weight

RULE = "temperature"
# MIL-STD-1537C, conductivity of aluminium, 5.1.2: probe, standards and part within 3 °C of each other.
CONDUCTIVITY_BAND_C, CONDUCTIVITY_SOURCE = Decimal("3"), "MIL-STD-1537C, 5.1.2"


@dataclass(frozen=True, slots=True)
class Temperatures:
    """What is known of the temperatures of one check, °C, and what the procedure asks; no band: it asks nothing."""

    block_c: Decimal | None
    part_c: Decimal | None
    band_c: Decimal | None
    source: str  # procedure and paragraph of the band
    conductivity_work: bool  # the block is a standard of conductivity


def temperature_reasons(found: Temperatures, occasion: str, record: str) -> list[Reason]:
    """Return what the temperatures mean for a check.

    The procedure's band is a limit like its others: on it is inside, beyond it the check is not acceptable. A start check
    needs both temperatures; on other occasions, where there may be no part, they are judged when both are given. Without
    a band a difference above 3 °C advises in conductivity work, and is nothing in other work.
    """
    block, part = found.block_c, found.part_c
    if found.band_c is None:
        return _advice(block, part, record) if found.conductivity_work else []
    limit = f"±{plain(found.band_c)} °C of part against block"
    if block is None or part is None:
        return [] if occasion != "start" else [_not_measured(block, part, limit, found.source, record)]
    if abs(part - block) > found.band_c:
        return [
            Reason(RULE, "block and part differ too much in temperature", in_words(block, part), limit, found.source, record,
                   "let block and part come to one temperature, balance again, and check again")
        ]  # fmt: skip
    return [
        Reason(RULE, "block and part are near enough in temperature", in_words(block, part), limit, found.source, record,
               weight=Weight.SUPPORTS)
    ]  # fmt: skip


def _not_measured(block: Decimal | None, part: Decimal | None, limit: str, source: str, record: str) -> Reason:
    lacks = " and ".join(word for word, value in (("the block", block), ("the part", part)) if value is None)
    return Reason(RULE, f"the temperature of {lacks} is not recorded", in_words(block, part) or "no figure", limit, source, record,
                  "measure both, enter them, and check again", Weight.UNDECIDED)  # fmt: skip


def _advice(block: Decimal | None, part: Decimal | None, record: str) -> list[Reason]:
    if block is None or part is None or abs(part - block) <= CONDUCTIVITY_BAND_C:
        return []
    return [
        Reason(RULE, "block and part differ in temperature, which decides a conductivity reading", in_words(block, part),
               f"±{plain(CONDUCTIVITY_BAND_C)} °C of each other", CONDUCTIVITY_SOURCE, record,
               "let them come to one temperature; the written procedure governs", Weight.ADVISES)
    ]  # fmt: skip


def in_words(block: Decimal | None, part: Decimal | None) -> str:
    """Return the temperatures that were measured, such as 'block 21.5 °C, part 18 °C'; empty without any."""
    told = [f"{word} {plain(value)} °C" for word, value in (("block", block), ("part", part)) if value is not None]
    return ", ".join(told).replace("-", "−")
