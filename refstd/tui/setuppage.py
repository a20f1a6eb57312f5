"""A setup: what it is made of, its baseline, its checks, and how its notches drift."""

from dataclasses import dataclass
from typing import ClassVar

from refstd.desk.baselines import BaselineShown, baseline_shown
from refstd.desk.checks import CheckVerdict
from refstd.desk.drift import NotchDrift, drift_list
from refstd.desk.events import EventShown, event_in_words, events_on
from refstd.desk.kept_checks import checks
from refstd.desk.setups import SetupShown, setups
from refstd.desk.store import Lab, When
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.driftwords import DRIFT_COLUMNS, drift_rows
from refstd.tui.record_sections import CHECK_COLUMNS, check_rows, event_words
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row


@dataclass(frozen=True, slots=True)
class _Found:
    setup: SetupShown
    baseline: BaselineShown | None
    checks: tuple[CheckVerdict, ...]
    drift: tuple[NotchDrift, ...]
    happened: tuple[EventShown, ...]


class SetupPage(SectionsPage):
    """A setup with its baseline, checks and drift."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (BACK, *EVERYWHERE)

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: _read(lab, number, when), self.show_setup)

    def show_setup(self, found: _Found) -> None:
        """Show the setup that was read."""
        s, b = found.setup, found.baseline
        stands = (
            f"{len(b.checks)} set-ups {', '.join(b.checks)}, {self.local(b.happened_at)} by {b.person}, approved by {b.approved_by}"
            + (f" ({b.why})" if b.why else "")
            if b
            else "none: drift cannot be told"
        )
        facts = fact_lines(*((name.replace("_", " "), value) for name, value in s.conditions), ("baseline", stands))
        members = tuple(
            Row((kind, number), ("item", number))
            for kind, number in (("instrument", s.instrument), ("probe", s.probe), ("block", s.block))
        )
        self.show(
            f"Setup {s.number}",
            s.in_words(),
            (
                Section("conditions", text=facts),
                Section("made of", (Col("kind", 12), Col("asset number")), members),
                Section(
                    "events",
                    _EVENTS,
                    tuple(self._event(e) for e in reversed(found.happened)),
                    "nothing happened to its items",
                ),
                Section("checks", CHECK_COLUMNS, check_rows(found.checks, self.local), "no check on record"),
                Section("drift", DRIFT_COLUMNS, drift_rows(found.drift, self.refstd.zone), "no baseline, so no drift"),
            ),
        )

    def _event(self, e: EventShown) -> Row:
        what = event_in_words(e.event, e.tape, e.tape_thickness_mm)
        cells = (self.local(e.happened_at), e.asset_no, what, "breaks the record" if e.breaks else "")
        return Row(cells, ("event", f"{e.ref} {e.asset_no}"), f"{e.asset_no}: {event_words(e)}")


_EVENTS = (Col("happened", 16), Col("item", 10), Col("what"), Col("record", 17))


def _read(lab: Lab, number: str, when: When) -> _Found:
    setup = next(s for s in setups(lab, when) if s.number.casefold() == number.casefold())
    return _Found(
        setup, baseline_shown(lab, number, when), checks(lab, when, setup=number), drift_list(lab, when, setup=number),
        events_on(lab, (setup.instrument, setup.probe, setup.block), when),
    )  # fmt: skip
