"""Where an item was used: all lots, jobs, checks, certificates and findings of a period, each a section."""

from typing import ClassVar

from refstd.base.errors import WrongUsage
from refstd.desk.reach import ItemsWork, work_of_item
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.record_sections import FINDING_COLUMNS, finding_rows
from refstd.tui.sections import Section, SectionsPage
from refstd.tui.widgets.rows import Col, Row


class WorkPage(SectionsPage):
    """What an item had a part in, over a period. It names no fault: what is in doubt, a finding says."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("d", "period", "Period", "Look back over other days."),
        Command("o", "write", "Write to file", "Write it as a report: text, CSV, JSON or PDF by the file's ending."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, asset_no: str) -> None:
        super().__init__()
        self.asset_no, self.days = asset_no, ("", "")

    def load(self) -> None:
        lab, when, asset_no, (since, until) = self.refstd.lab, self.refstd.when(), self.asset_no, self.days
        self.ask(lambda: work_of_item(lab, asset_no, when, since, until), self.show_work)

    def show_work(self, work: ItemsWork) -> None:
        """Show what was read."""
        begins = f"from {self.local(work.since)}" if work.since else "from the first record"
        lots = tuple(
            Row(
                (x.number, self.local(x.happened_at), x.job, x.start_check, x.examined), ("check", x.start_check),
                f"lot {x.number}, job {x.job}: {x.examined}\nexamined {self.local(x.happened_at)} by {x.person} under start check {x.start_check}",
            )
            for x in work.lots
        )  # fmt: skip
        jobs = tuple(Row((j.number, j.procedure.name, j.parts), ("job", j.number)) for j in work.jobs)
        checks = tuple(
            Row((c.number, self.local(c.happened_at), c.occasion, c.setup, c.job, c.outcome), ("check", c.number))
            for c in work.checks
        )
        papers = tuple(Row((p.number, p.activity, p.performed_on, p.laboratory)) for p in work.certificates)
        self.show(
            f"Where {work.item.asset_no} was used",
            f"{begins} to {self.local(work.until)}; both ends count (d changes the days)",
            (
                Section("lots", (Col("lot", 8), Col("examined", 16), Col("job", 10), Col("start", 8), Col("parts")), lots, "no lot in this period"),
                Section("jobs", (Col("job", 10), Col("procedure", 26), Col("parts")), jobs, "no job in this period"),
                Section(
                    "checks", (Col("check", 8), Col("done", 16), Col("occasion", 9), Col("setup", 8), Col("job", 10), Col("outcome")), checks,
                    "no check in this period",
                ),
                Section("certificates", (Col("number", 14), Col("activity", 12), Col("done", 10), Col("by")), papers, "no certificate in force then"),
                Section("findings", FINDING_COLUMNS, finding_rows(work.findings, self.local), "no finding about them"),
            ),
        )  # fmt: skip

    def action_period(self) -> None:
        def given(typed: str | None) -> None:
            if typed is None:
                return
            days = typed.split()
            if len(days) > 2:
                self.refused(WrongUsage(f"'{typed}' is not a period", "", "Give two days, YYYY-MM-DD."))
                return
            self.days = ((*days, "", "")[0], (*days, "", "")[1])
            self.load()

        question = "From which day to which (YYYY-MM-DD YYYY-MM-DD)? One day: from it until now. Empty: everything."
        self.app.push_screen(AskLine(question, " ".join(self.days).strip()), given)

    def action_write(self) -> None:
        from refstd.tui.reportfile import write_report

        write_report(self, "lookback", self.asset_no, *(d for d in self.days if d))
