"""A job as on record: its parts and procedure, checks, examined lots and the equipment that was out for it."""

from dataclasses import dataclass
from typing import ClassVar

from refstd.base.quantity import plain
from refstd.desk.checks import CheckVerdict
from refstd.desk.job_parts import DetailsDraft, Progress
from refstd.desk.jobs import JobShown, LotShown, describe_job, details_on_record, job_progress, jobs, lots
from refstd.desk.kept_checks import checks
from refstd.desk.loans import LoanPast, loans
from refstd.desk.lot_standing import LotStanding, lots_standing
from refstd.desk.reach import RestedOn, items_of_job
from refstd.desk.reservations import ReservationShown, Shortage, reservations, shortages_ahead
from refstd.desk.shifts import ShiftShown, shifts
from refstd.desk.store import Lab, When
from refstd.desk.traceability import Traced, traceability
from refstd.reports.reach import checks_in_words, papers_in_words
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.grid import HeadForm
from refstd.tui.record_sections import CHECK_COLUMNS, check_rows
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row, Rows


@dataclass(frozen=True, slots=True)
class _Found:
    job: JobShown
    checks: tuple[CheckVerdict, ...]
    lots: tuple[LotShown, ...]
    progress: Progress
    loans: tuple[LoanPast, ...]
    rested_on: tuple[RestedOn, ...]
    standing: dict[str, LotStanding]
    reserved: tuple[ReservationShown, ...]
    short: tuple[Shortage, ...]
    traced: tuple[Traced, ...]
    shifts: tuple[ShiftShown, ...]


class JobPage(SectionsPage):
    """A job with its checks, lots and equipment, to be read."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("y", "procedure", "Procedure", "Open the procedure."),
        Command(
            "e",
            "describe",
            "Describe",
            "Record what is known now of the parts: coating, area, target, heat treatment; with where it is from.",
        ),
        Command("k", "kit_sheet", "Kit sheet", "The sheet of the kit that is out for it, to read or to print."),
        Command(
            "a",
            "enter_sheet",
            "Paper sheet",
            "Enter a check that was read earlier: when, by whom, with the scan of its sheet.",
            act="make a response check",
        ),
        Command("r", "reserve", "Reserve", "Reserve equipment for it, weeks ahead.", in_footer=False, act="reserve"),
        Command(
            "x",
            "cancel",
            "Cancel",
            "Cancel the reservation under the cursor, with the reason.",
            in_footer=False,
            act="reserve",
        ),
        Command(
            "g", "hand_over", "Hand over", "Hand the job over to the next shift.", act="check out", in_footer=False
        ),
        Command("b", "write_basis", "Rested on", "Write what it rested on, day by day, as a report.", in_footer=False),
        Command(
            "t", "write_traced", "Traced", "Write what it traces to, paper by paper, as a report.", in_footer=False
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.procedure = ""

    def load(self) -> None:
        lab, when, number = self.refstd.lab, self.refstd.when(), self.number
        self.ask(lambda: _read(lab, number, when), self.show_job)

    def show_job(self, found: _Found) -> None:
        """Show the job that was read."""
        j = found.job
        self.procedure = j.procedure.code
        bore = f", bore {plain(j.bore_diameter_mm)} mm" if j.bore_diameter_mm is not None else ""
        facts = fact_lines(
            ("parts", j.parts), ("procedure", f"{j.procedure.name}: {j.procedure.title}"), ("customer reference", j.customer_reference),
            ("material", f"{j.material.code} {j.material.name}"), ("form", j.form + bore), ("frequency", f"{plain(j.frequency_khz)} kHz"),
            ("target flaw", j.target_flaw), ("place", j.place), ("from, to", f"{j.starts_on} to {j.ends_on}"),
            ("state", "open" if j.open else "closed"), *(("short", s.in_words()) for s in found.short), *j.details.stated(),
        )  # fmt: skip
        part_rows = tuple(_part_row(*row) for row in found.progress.by_part(j.listed))
        lot_rows = tuple(
            Row((x.number, self.local(x.happened_at), x.start_check, found.standing.get(x.number, LotStanding()).says, x.examined),
                (*found.standing.get(x.number, LotStanding()).opens, ("check", x.start_check))[0], f"{x.number}: {found.standing.get(x.number, LotStanding()).says or 'covered'}\n{x.examined}\nexamined {self.local(x.happened_at)} by {x.person} under start check {x.start_check}" + (f"\n{x.late}" if x.late else ""))
            for x in found.lots
        )  # fmt: skip
        loan_rows = tuple(
            Row(
                (x.asset_no, x.holder, self.local(x.since), x.due_back_on, x.until(self.local)),
                ("item", x.asset_no),
            )
            for x in found.loans
        )  # fmt: skip
        self.show(
            f"Job {j.number}",
            f"{'open' if j.open else 'closed'}: {j.parts}",
            (
                Section("job", text=facts),
                Section("parts", (Col("part"), Col("left to examine", 30), Col("in doubt", 20)), part_rows, "no part"),
                Section("checks", CHECK_COLUMNS, check_rows(found.checks, self.local), "no check on record"),
                Section("lots", (Col("lot", 8), Col("examined", 16), Col("start", 8), Col("stands", 20), Col("parts")), lot_rows, "no lot logged"),
                Section(
                    "equipment",
                    (Col("item", 12), Col("holder", 10), Col("out since", 16), Col("due back", 10), Col("returned")),
                    loan_rows,
                    "nothing was checked out",
                ),
                Section("reserved", _RESERVED, tuple(_reserved_row(r) for r in found.reserved), "nothing is reserved; r reserves"),
                Section("hand-overs", _SHIFTS, tuple(self._shift_row(h) for h in found.shifts), "not handed over"),
                Section("rested on", _BASIS, tuple(_basis_row(r) for r in found.rested_on), "no check on record"),
                Section("traces to", _TRACED, tuple(_traced_row(r) for r in found.traced), "no check on record"),
            ),
        )  # fmt: skip

    def _shift_row(self, h: ShiftShown) -> Row:
        """Return a hand-over; Enter opens the check that closed the work."""
        check = next((w.closing_check for w in h.work if w.closing_check), "")
        at = self.local(h.happened_at)
        return Row(
            (at, f"{h.person} to {h.to}", h.closed_by), ("check", check) if check else None, f"{at}: {h.in_words()}"
        )

    def action_procedure(self) -> None:
        if self.procedure:
            self.open_record("procedure", self.procedure)

    def action_kit_sheet(self) -> None:
        from refstd.tui.technician.kitsheet import KitPage

        self.app.push_screen(KitPage(self.number))

    def action_enter_sheet(self) -> None:
        if self.may_record():
            from refstd.tui.technician.backentry import enter_sheet

            enter_sheet(self, self.number)

    def action_reserve(self) -> None:
        if self.may_record():
            from refstd.tui.reserving import reserve_for

            reserve_for(self, self.number)

    def action_cancel(self) -> None:
        row = self.query_one(Rows).row
        if self.section == "reserved" and row and self.may_record():
            from refstd.tui.reserving import cancel_one

            cancel_one(self, str(row.cells[0]))

    def open_row(self, row: Row) -> None:
        if not (row.opens and row.opens[0] == "reservation"):
            super().open_row(row)

    def action_write_traced(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "traceability", self.number)

    def action_hand_over(self) -> None:
        if self.may_record():
            from refstd.tui.technician.shift import hand_over_shift

            hand_over_shift(self, self.number, self.load)

    def action_write_basis(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "lookback", self.number)

    def action_describe(self) -> None:
        if self.may_record():
            lab, when, number = self.refstd.lab, self.refstd.when(), self.number
            self.ask(lambda: details_on_record(lab, number, when), self._describe)

    def _describe(self, given: dict[str, str]) -> None:
        app, number = self.refstd, self.number

        def ask_why(draft: DetailsDraft) -> None:
            form = app.screen
            assert isinstance(form, HeadForm)

            def given_why(why: str | None) -> None:
                if why is not None and why.strip():
                    form.act(
                        lambda op: describe_job(app.lab, number, draft, why, by=app.by, now=app.now(), operation=op),
                        lambda _: done(),
                    )

            app.push_screen(AskLine(f"Where is what is known of job {number} from?"), given_why)

        def done() -> None:
            app.pop_screen()
            self.tell(f"job {number} described")
            self.load()

        app.push_screen(HeadForm(f"What is known of the parts of job {number}", DetailsDraft, ask_why, given=given))


_RESERVED = (Col("number", 8), Col("what", 30), Col("from", 10), Col("to", 10), Col("stands"))


def _reserved_row(r: ReservationShown) -> Row:
    """Return a reservation; Enter opens the item, where it names one."""
    stands = f"cancelled by {r.cancelled}" if r.cancelled else f"reserved by {r.person}"
    cells = (r.number, r.item or f"any {r.what}", str(r.starts_on), str(r.ends_on), stands)
    return Row(
        cells, ("item", r.item) if r.item else ("reservation", r.number), f"{r.number}: {r.in_words()}; {stands}"
    )


_SHIFTS = (Col("when", 16), Col("who", 14), Col("closing check"))
_BASIS = (Col("day", 10), Col("item", 8), Col("certificate of that day", 30), Col("checks of that day"))


def _basis_row(r: RestedOn) -> Row:
    """Return an item on one day; Enter opens the item."""
    papers, checks = papers_in_words(r.papers), checks_in_words(r.checks)
    about = f"{r.item.asset_no} {r.item.name}, {r.day}\n{papers}\n{checks}"
    return Row((r.day, r.item.asset_no, papers, checks), ("item", r.item.asset_no), about)


_TRACED = (Col("day", 10), Col("item", 8), Col("certificate", 16), Col("laboratory", 16), Col("left open, or through"))


def _traced_row(r: Traced) -> Row:
    """Return one paper that an item traced to on a day; Enter opens the item."""
    c, gaps = r.certificate, "; ".join(r.gaps())
    about = f"{r.item.asset_no} {r.item.name}, {r.day}: through {r.through}"
    if c is not None:
        stated = (c.accreditation or "accreditation not stated", c.traceability or "traceability not stated")
        about += (
            f"\n{c.activity} {c.number} of {c.performed_on} by {c.laboratory}; {'; '.join(stated)}\n{r.uncertainties()}"
        )
    tone = "bad" if c is None else "warn" if gaps else ""
    cells = (r.day, r.item.asset_no, c.number if c else "none", c.laboratory if c else "", gaps or r.through)
    return Row(cells, ("item", r.item.asset_no), about, tone)


def _part_row(part: str, left: str, doubt: str) -> Row:
    says = f"{part}\nleft to examine: {left or 'nothing'}\nin doubt: {doubt or 'nothing'}"
    return Row((part, left or "nothing", doubt or "nothing"), None, says)


def _read(lab: Lab, number: str, when: When) -> _Found:
    job = next(j for j in jobs(lab, when) if j.number.casefold() == number.casefold())
    return _Found(
        job,
        checks(lab, when, job=job.number),
        tuple(x for x in lots(lab, when) if x.job == job.number),
        job_progress(lab, job.number, when),
        tuple(x for x in loans(lab, when) if x.job == job.number),
        items_of_job(lab, job.number, when).rows,
        lots_standing(lab, job.number, when),
        tuple(r for r in reservations(lab, when) if r.job == job.number),
        tuple(s for s in shortages_ahead(lab, when) if any(n.job == job.number for n in s.needs)),
        traceability(lab, job.number, when)[1],
        shifts(lab, job.number, when),
    )
