"""How a probe joins an instrument: from connector to connector, by cables and adapters."""

from collections.abc import Sequence
from dataclasses import dataclass

from refstd.base.reason import Reason
from refstd.base.text import key

MOST_LINKS = 2
ROTATING = "rotating bolt-hole"
_NAMED = 3  # instruments named in one reason before the rest is counted


@dataclass(frozen=True, slots=True)
class Link:
    """A cable or adapter: the connector at its end towards the instrument, and towards the probe."""

    asset_no: str
    instrument_connector: str
    probe_connector: str
    cautions: int = 0


@dataclass(frozen=True, slots=True)
class InstrumentEnd:
    """What of an instrument decides which probes join it."""

    connector: str
    drives_rotating_probe: bool
    circuits: str = (
        ""  # those it takes, such as 'bridge and reflection'; '' or 'not stated': no probe is refused for its own
    )

    def takes(self, circuit: str) -> bool:
        """Return whether a probe of a circuit works on it, as far as that is on record."""
        return not circuit or self.circuits in ("", "not stated") or circuit in self.circuits.split(" and ")


@dataclass(frozen=True, slots=True)
class ProbeEnd:
    """What of a probe decides which instruments it joins."""

    connector: str
    form: str
    circuit: str = ""

    @property
    def rotates(self) -> bool:
        return self.form == ROTATING


def path(instrument: InstrumentEnd, probe: ProbeEnd, links: Sequence[Link]) -> tuple[Link, ...] | None:
    """Return the links from instrument to probe: none when the connectors are alike, None when nothing joins them.

    The fewest links, at most two; of equally many those with the fewest cautions, then by asset number.
    """
    if probe.rotates and not instrument.drives_rotating_probe:
        return None
    if not instrument.takes(probe.circuit):
        return None
    here, there = key(instrument.connector), key(probe.connector)
    if here == there:
        return ()
    begins = [link for link in links if key(link.instrument_connector) == here]
    ends = [link for link in links if key(link.probe_connector) == there]
    for found in (
        [(link,) for link in begins if link in ends],
        [(a, b) for a in begins for b in ends if a != b and key(a.probe_connector) == key(b.instrument_connector)],
    ):
        if found:
            return min(found, key=_order)
    return None


def _order(links: tuple[Link, ...]) -> tuple[int, tuple[str, ...]]:
    return sum(link.cautions for link in links), tuple(link.asset_no for link in links)


def apart(probe_no: str, probe: ProbeEnd, instrument_nos: Sequence[str], instrument: InstrumentEnd) -> Reason:
    """Return why a probe does not join instruments that are alike in what decides it."""
    more = len(instrument_nos) - _NAMED
    named = ", ".join(instrument_nos[:_NAMED]) + (f" and {more} more" if more > 0 else "")
    do = "do" if len(instrument_nos) > 1 else "does"
    if probe.rotates and not instrument.drives_rotating_probe:
        return Reason("rotating drive", f"{named} {do} not drive a rotating probe such as {probe_no}", "no drive",
                      "a drive for a rotating probe", "instrument on record", f"{probe_no}, {named}",
                      "take an instrument that drives a rotating probe")  # fmt: skip
    if not instrument.takes(probe.circuit):
        return Reason("circuit", f"{probe_no} ({probe.circuit}) does not work on {named} ({instrument.circuits})", probe.circuit,
                      instrument.circuits, "circuits on record", f"{probe_no}, {named}",
                      f"take an instrument for {probe.circuit} probes, or a {instrument.circuits} probe")  # fmt: skip
    return Reason("connectors", f"{probe_no} ({probe.connector}) does not join {named} ({instrument.connector})", probe.connector,
                  instrument.connector, "connectors on record", f"{probe_no}, {named}",
                  "add a cable or adapter that joins the two")  # fmt: skip
