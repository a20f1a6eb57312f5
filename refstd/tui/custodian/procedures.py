"""The written procedures: a list, and filing one, or its next revision, with limits, targets and named equipment."""

from typing import Any, ClassVar

from refstd.base.quantity import plain
from refstd.desk.entry import Draft
from refstd.desk.procedure_entry import (
    AcceptedFamilyDraft,
    LimitDraft,
    NamedItemDraft,
    ProcedureDraft,
    TargetDraft,
    file_procedure,
)
from refstd.desk.procedures import ProcedureShown, all_revisions
from refstd.desk.requirements import ASKED
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen, Part, Parts
from refstd.tui.pages import ListPage, Page
from refstd.tui.record_sections import text_of
from refstd.tui.widgets.rows import Col, Row

LIMIT, TARGET, NAMED, FAMILY = "limit", "target", "named equipment", "accepted family"


def asked_in_words(d: Draft) -> str:
    """Return a requirement that was given as one line."""
    given = {k: v for k, v in d.model_dump().items() if v not in (None, "", False)}
    said = ", ".join(
        k.replace("_", " ") if v is True else f"{k.replace('_', ' ')} {v}" for k, v in given.items() if k != "paragraph"
    )
    return f"{said} ({given['paragraph']})"


def of_one(value: object) -> tuple[object, ...]:
    return () if value is None else (value,)


def _limit(d: LimitDraft) -> str:
    bounds = " to ".join(plain(x) for x in (d.lower, d.upper) if x is not None)
    return f"{d.quantity} against {d.against}, {d.notch or 'every notch'}: {bounds} {d.unit} ({d.paragraph})"


PARTS = (
    Part(LIMIT, LimitDraft, _limit),
    Part(TARGET, TargetDraft, lambda d: f"notch {d.notch} set to {plain(d.value)} {d.unit} ({d.paragraph})"),
    Part(NAMED, NamedItemDraft, lambda d: f"{d.kind} {d.part_no}, {d.standing} ({d.paragraph})"),
    Part(FAMILY, AcceptedFamilyDraft, lambda d: f"parts {d.part_family}: blocks {d.block_family} ({d.paragraph})"),
    *(Part(name.replace("_", " "), kind, asked_in_words) for name, (kind, _, _) in ASKED.items()),
)
NOTE = (
    "Every limit as the procedure states it, in its own unit, with its paragraph. F3 adds a limit, target, named equipment, "
    "accepted family or another requirement; at least one limit is needed."
)


class ProceduresPage(ListPage):
    """The procedures' revisions in force, and those that wait. Enter opens one with its limits."""

    HEADING = "Procedures"
    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("code", 14), Col("issue", 6), Col("title"), Col("form", 12), Col("limits", 6, right=True), Col("approved by", 12),
    )  # fmt: skip
    EMPTY = "no procedure is filed"
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("n", "file", "New procedure", "File a procedure; it is in force once it is reviewed and approved."),
        BACK,
        *EVERYWHERE,
    )

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: all_revisions(lab, when), self.show_procedures)

    def show_procedures(self, found: tuple[ProcedureShown, ...]) -> None:
        """Show the procedures that were read."""
        self.fill(
            [
                Row((p.code, p.issue, p.title, p.form, str(len(p.limits)), p.approval if p.in_force else p.standing), ("procedure", p.code),
                    f"{p.name}: {p.title}\n{'; '.join(x.in_words() + f' ({x.paragraph})' for x in p.limits)}")
                for p in found
                if p.standing != "superseded"
            ]
        )  # fmt: skip

    def action_file(self) -> None:
        if self.may_record():
            self.app.push_screen(_form(self, "File a procedure", {}, ""))


def file_revision(page: Page, before: ProcedureShown) -> None:
    """Ask for the reason, then open the form with what is on record; limits and the rest are given anew."""
    given = {
        name: text_of(getattr(before, name))
        for name in ProcedureDraft.model_fields
        if name != "approved_on_paper_by" and text_of(getattr(before, name))
    } | {"issue": "", "editorial": "no"}

    def given_why(why: str | None) -> None:
        if why is not None and why.strip():
            page.app.push_screen(RevisionForm(page, before, given, why.strip()))

    page.app.push_screen(AskLine(f"Why does {before.code} get a new revision?"), given_why)


def _form(page: Page, title: str, given: dict[str, str], why: str) -> FormScreen[ProcedureDraft]:
    return FormScreen(
        title,
        ProcedureDraft,
        _keep(page, why),
        _done(page),
        given=given,
        leave_out=("approved_on_paper_by", "editorial"),
        parts=PARTS,
        note=NOTE,
    )


def _keep(page: Page, why: str) -> Any:
    app = page.refstd

    def keep(draft: ProcedureDraft, parts: Parts, operation: str) -> str:
        file_procedure(
            app.lab, draft, parts[LIMIT], parts[TARGET], parts[NAMED], parts[FAMILY], why=why, by=app.by, now=app.now(),
            asked={name: parts[name.replace("_", " ")] for name in ASKED}, operation=operation,
        )  # fmt: skip
        return draft.code

    return keep


def _done(page: Page) -> Any:
    def done(code: str) -> None:
        page.tell(f"procedure {code} filed; it waits for review and approval")
        page.load()

    return done


class RevisionForm(FormScreen[ProcedureDraft]):
    """The next revision of a procedure, beginning from the one in force; change what changed, take out what fell away."""

    COMMANDS_HERE = FormScreen.COMMANDS_HERE

    def __init__(self, page: Page, before: ProcedureShown, given: dict[str, str], why: str) -> None:
        super().__init__(
            f"Next revision of {before.code}", ProcedureDraft, _keep(page, why), _done(page), given=given,
            leave_out=("code", "approved_on_paper_by"), parts=PARTS, note=NOTE,
        )  # fmt: skip
        self.before = before

    def on_mount(self) -> None:
        """Put the parts of the revision in force into the form."""
        from refstd.desk.entry import draft_or_refuse
        from refstd.tui.forms import PartLine

        asked = (getattr(self.before.asks, name.removesuffix("_asked")) for name in ASKED)
        held = (
            self.before.limits, self.before.targets, self.before.named, self.before.accepted,
            *(x if isinstance(x, tuple) else of_one(x) for x in asked),
        )  # fmt: skip
        for part, values in zip(PARTS, held, strict=True):
            for value in values:
                given = {k: t for k in part.kind.model_fields if (t := text_of(getattr(value, k)))}
                self.query_one("#parts").mount(PartLine(part, given, draft_or_refuse(part.kind, given, part.name)))
