"""The custodian's day: what is due, what is out of use, what waits, what is held, what is out and late."""

from typing import ClassVar

from refstd.desk.drift import at_day
from refstd.desk.homes import CustodianHome as Day
from refstd.desk.homes import custodian_home
from refstd.tui.commands import EVERYWHERE, QUIT, Command
from refstd.tui.homepage import AS_AT, REGISTER_KEYS, WHO, HomePage
from refstd.tui.record_sections import due_day, due_tone, due_words, person_due_row, return_row, when_due
from refstd.tui.suspectwords import key_of, short_words, suspect_about
from refstd.tui.widgets.rows import Col, Row, heading

MENU = (
    *REGISTER_KEYS,
    Command("m", "page('materials')", "Materials", "The materials that blocks and parts are made of.", in_footer=False),
    Command("n", "enter_item", "New item", "Enter a block, probe, instrument or accessory.", in_footer=False),
    Command("d", "page('due')", "Due", "Everything that is owed, most urgent first.", in_footer=False),
    Command(
        "c",
        "page('recall')",
        "Calibration recall",
        "What to send to which laboratory, and what that leaves without.",
        in_footer=False,
    ),
    Command("s", "page('suspects')", "Suspects", "Which item moved: the evidence over the whole lab.", in_footer=False),
    Command(
        "g",
        "page('drift')",
        "Drift",
        "Every setup and notch against its baseline, with control charts.",
        in_footer=False,
    ),
    Command("e", "page('swaps')", "Swap tests", "Swap tests begun, to go on with or to read.", in_footer=False),
    Command("h", "page('checkin')", "Check in", "Take equipment back with its condition.", in_footer=False),
    Command("f", "page('findings')", "Findings", "What is wrong, what is held, what was decided.", in_footer=False),
    Command("r", "page('procedures')", "Procedures", "The written procedures with their limits.", in_footer=False),
    Command(
        "u",
        "page('people')",
        "People",
        "Who works here, with which authorities, qualifications and tests of vision.",
        in_footer=False,
    ),
    Command("v", "page('care')", "Verify, back up", "Care of the store.", in_footer=False),
    Command(
        "x", "page('importing')", "Import", "Read items from CSV files, or a certificate from its XML.", in_footer=False
    ),
    AS_AT,
    WHO,
)


class CustodianHome(HomePage):
    """What is due, out of use, awaited, held, out and late. Enter opens the record."""

    HEADING = "Custodian"
    COLUMNS: ClassVar[tuple[Col, ...]] = (Col("item", 9), Col("how it stands", 13), Col("what"), Col("when", 10))
    EMPTY = "nothing is due, held, awaited or late"
    MENU = MENU
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (*MENU, QUIT, *EVERYWHERE)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: custodian_home(lab, when), self.show_day)

    def show_day(self, day: Day) -> None:
        """Show the day that was read."""
        late = [o for o in day.out if o.late]
        self.fill(
            [
                *_part("Moved, named by the evidence over the whole lab", [
                    Row((s.candidate.code or "—", "named before" if s.before else "moved" if not s.tied_with else "moved, or tied", short_words(s),
                         self.local(at_day(s.readings[-1].days))[:10]), ("suspect", key_of(s.candidate)), suspect_about(s), "bad")
                    for s in day.suspects.found
                ]),
                *_part("Due", [
                    Row((r.asset_no, f"{r.state}", f"{r.activity}: {when_due(r)}, {r.how_often} ({r.source})", due_day(r)),
                        ("item", r.asset_no), f"{due_words(r)}\n{r.asset_no}: {r.verdict.headline()}", due_tone(r))
                    for r in day.due
                ]),
                *_part("Back to their owners", [return_row(r, columns=4) for r in day.returns]),
                *_part("Due of people", [person_due_row(p, columns=4) for p in day.people]),
                *_part("Quarantined, in repair, calibrate before use", [
                    Row((i.asset_no, i.state, i.state_why, self.local(i.state_since)[:10]), ("item", i.asset_no),
                        f"{i.asset_no} {i.name}: {i.state} since {self.local(i.state_since)}: {i.state_why}", "bad")
                    for i in day.quarantined
                ]),
                *_part("Awaiting receipt, away at laboratory", [
                    Row((i.asset_no, i.state, f"{i.name}: {i.state_why}", self.local(i.state_since)[:10]), ("item", i.asset_no),
                        f"{i.asset_no} {i.name}: {i.state} since {self.local(i.state_since)}, {i.location or 'place not given'}: {i.state_why}")
                    for i in day.awaiting
                ]),
                *_part("Lost", [
                    Row((x.asset_no, "lost", f"{x.name}: {x.told_in_words()}; last seen {x.last_seen}", self.local(x.happened_at)[:10]),
                        ("item", x.asset_no), f"{x.says}\n{x.told_in_words()}", "bad")
                    for x in day.lost
                ]),
                *_part("Short, days ahead", [
                    Row((s.needs[0].job, "short", s.in_words(), str(s.starts_on)), ("job", s.needs[0].job), s.in_words(), "warn")
                    for s in day.short
                ]),
                *_part("Open findings", [
                    Row((f.number, "open", f.says, self.local(f.happened_at)[:10]), ("finding", f.number),
                        f"{f.number} {f.cause}: {f.says}\nholds {f.holds_and_freed()}", "bad")
                    for f in day.findings
                ]),
                *_part("Out and late", [
                    Row((o.asset_no, "late", f"{o.name}: with {o.loan.holder} for job {o.loan.job}", str(o.loan.due_back_on)),
                        ("item", o.asset_no), f"{o.asset_no} {o.name}: out to {o.loan.holder} since {self.local(o.loan.since)}, was due back {o.loan.due_back_on}", "warn")
                    for o in late
                ]),
                *_part("Out", [
                    Row((o.asset_no, "out", f"{o.name}: with {o.loan.holder} for job {o.loan.job}", str(o.loan.due_back_on)),
                        ("item", o.asset_no), f"{o.asset_no} {o.name}: out to {o.loan.holder} since {self.local(o.loan.since)}, due back {o.loan.due_back_on}")
                    for o in day.out if not o.late
                ]),
            ]
        )  # fmt: skip

    def action_page(self, name: str) -> None:
        from refstd.tui.custodian import pages

        self.app.push_screen(pages.named(name))

    def action_enter_item(self) -> None:
        if self.may_record():
            from refstd.tui.entering import enter_new

            enter_new(self)


def _part(title: str, rows: list[Row]) -> list[Row]:
    return [heading(f"{title} ({len(rows)})"), *rows] if rows else []
