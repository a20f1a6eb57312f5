"""A written procedure as filed: every limit with its unit and paragraph, the targets, and the equipment it names."""

from typing import ClassVar

from refstd.base.quantity import plain
from refstd.desk.procedure_acts import act_on_procedure
from refstd.desk.procedures import ProcedureShown, all_revisions
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row

_LIMITS = (Col("quantity", 16), Col("notch", 14), Col("limit"), Col("paragraph", 12))


class ProcedurePage(SectionsPage):
    """A procedure's revision in force, with its limits and where each is written."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "revise", "New revision", "File the next revision; this one stays in force until it is approved."),
        Command(
            "v",
            "review",
            "Review",
            "Review the revision that waits; never by the one who drafted it.",
            act="review a procedure",
        ),
        Command(
            "a",
            "approve",
            "Approve",
            "Bring the reviewed revision into force (responsible level 3).",
            act="approve a procedure",
        ),
        Command(
            "w",
            "withdraw",
            "Withdraw",
            "Take the revision in force out of force (responsible level 3).",
            in_footer=False,
            act="withdraw a procedure",
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.procedure: ProcedureShown | None = None

    def load(self) -> None:
        lab, when, code = self.refstd.lab, self.refstd.when(), self.code
        self.ask(lambda: all_revisions(lab, when, code), self.show_revisions)

    def show_revisions(self, found: tuple[ProcedureShown, ...]) -> None:
        """Show the revision in force, else the newest, and how each of them stands."""
        p = next((x for x in found if x.in_force), found[0])
        self.procedure = p
        revisions = tuple(
            Row((x.issue, x.standing + (", editorial" if x.editorial else ""), f"{a.kind} by {a.person}", self.local(a.happened_at), a.why))
            for x in found
            for a in x.acts
        )  # fmt: skip
        hours, band, warmth = p.check_every_hours, p.conductivity_band_percent_iacs, p.temperature_band_c
        facts = fact_lines(
            ("title", p.title), ("issue", p.issue), ("stands", p.standing), ("approved by", p.approval), ("form", p.form),
            ("frequency", f"{plain(p.lowest_khz)} to {plain(p.highest_khz)} kHz ({p.frequency_paragraph})"),
            ("check every", f"{plain(hours)} hours ({p.check_paragraph})" if hours is not None else ""),
            ("baseline", f"needed ({p.baseline_paragraph})" if p.needs_baseline else "not needed"),
            ("set-ups for a baseline", p.baseline_setups),
            ("conductivity of block against part", f"± {plain(band)} %IACS ({p.conductivity_paragraph})" if band is not None else ""),
            ("temperature of part against block", f"± {plain(warmth)} °C ({p.temperature_paragraph})" if warmth is not None else ""),
            ("when a check is not acceptable, tell", p.tell),
        )  # fmt: skip
        limits = tuple(
            Row((x.quantity, x.notch or "every notch", x.in_words(), x.paragraph), None,
                f"{x.measures}, {f'notch {x.notch}' if x.notch else 'every notch that is read'}: {x.in_words()} ({p.name}, {x.paragraph})")
            for x in p.limits
        )  # fmt: skip
        targets = tuple(Row((t.notch, f"{plain(t.value)} {t.unit}", t.paragraph)) for t in p.targets)
        named = tuple(Row((i.kind, i.part_no, i.standing, i.paragraph)) for i in p.named)
        asked = tuple(
            Row((name, x.in_words(), x.paragraph), None, f"{name}: {x.in_words()} ({p.name}, {x.paragraph})") for name, x in p.asks.each()
        )  # fmt: skip
        accepted = tuple(Row((a.part_family, a.block_family, a.paragraph)) for a in p.accepted)
        self.show(
            f"Procedure {p.code}",
            f"issue {p.issue}: {p.title}",
            (
                Section("procedure", text=facts),
                Section("limits", _LIMITS, limits, "no limit"),
                Section("targets", (Col("notch", 16), Col("set to", 14), Col("paragraph")), targets, "no target"),
                Section("asks for", (Col("about", 22), Col("what"), Col("paragraph", 14)), asked, "nothing beside its limits"),
                Section("equipment", (Col("kind", 12), Col("part number"), Col("standing", 10), Col("paragraph", 12)), named, "names no equipment"),
                Section(
                    "revisions", (Col("issue", 6), Col("stands", 20), Col("act", 20), Col("when", 16), Col("why")), revisions, "none"
                ),
                Section("families", (Col("part family"), Col("block family"), Col("paragraph", 12)), accepted, "accepts no other family"),
            ),
        )  # fmt: skip

    def action_revise(self) -> None:
        if self.procedure and self.may_record():
            from refstd.tui.custodian.procedures import file_revision

            file_revision(self, self.procedure)

    def action_review(self) -> None:
        self._act("reviewed", "What was looked at in the review?")

    def action_approve(self) -> None:
        self._act("approved", "Why may it come into force?")

    def action_withdraw(self) -> None:
        self._act("withdrawn", "Why is it withdrawn?")

    def _act(self, kind: str, question: str) -> None:
        app, code = self.refstd, self.code

        def given(why: str | None) -> None:
            if why is not None and why.strip():
                self.act(
                    lambda op: act_on_procedure(app.lab, code, kind, why, by=app.by, now=app.now(), operation=op),
                    lambda issue: self._told(f"procedure {code} issue {issue} {kind}"),
                )

        if self.may_record():
            self.app.push_screen(AskLine(f"{code}: {question}"), given)

    def _told(self, says: str) -> None:
        self.tell(says)
        self.load()
