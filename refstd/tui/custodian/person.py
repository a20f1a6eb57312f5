"""A person: role and authorities, qualifications and tests of vision, and what of them is due."""

from collections.abc import Callable
from typing import Any, ClassVar

from refstd.desk.entry import Draft
from refstd.desk.qualifications import (
    PersonRecord,
    QualificationDraft,
    QualificationShown,
    VisionDraft,
    VisionShown,
    correct_qualification,
    correct_vision,
    person_record,
    record_qualification,
    record_vision,
)
from refstd.tui.asking import AskLine
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.forms import FormScreen
from refstd.tui.grid import HeadForm
from refstd.tui.people import ATTRIBUTION
from refstd.tui.record_sections import days_in_words, text_of
from refstd.tui.sections import Section, SectionsPage, fact_lines
from refstd.tui.widgets.rows import Col, Row, Rows

_DUE = (Col("what", 30), Col("state", 11), Col("last day", 10), Col("days", 13), Col("by"))
_QUALIFICATIONS = (
    Col("number", 7),
    Col("method, level, sector", 24),
    Col("certificate", 14),
    Col("from", 10),
    Col("counts to", 10),
    Col("stands"),
)
_TESTS = (Col("number", 7), Col("test of", 12), Col("tested on", 10), Col("passed", 6), Col("counts to", 10), Col("stands"))  # fmt: skip


class PersonPage(SectionsPage):
    """A person with their papers. The custodian records and corrects them; nothing is taken away."""

    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command("q", "qualification", "Qualification", "Record a qualification, or its renewal.", act="keep people"),
        Command(
            "v", "vision", "Test of vision", "Record a test of near vision or of colour vision.", act="keep people"
        ),
        Command(
            "c",
            "correct",
            "Correct",
            "Record the qualification or test under the cursor anew, with the reason; also to end it before its day.",
            act="keep people",
        ),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.found: PersonRecord | None = None

    def load(self) -> None:
        lab, when, code = self.refstd.lab, self.refstd.when(), self.code
        self.ask(lambda: person_record(lab, code, when), self.show_person)

    def show_person(self, found: PersonRecord) -> None:
        """Show the person who was read."""
        self.found = found
        p, today = found.person, self.refstd.when().now.astimezone(self.refstd.zone).date()
        late = [o.what for o in found.owed if o.state in ("overdue", "not passed", "never done")]
        facts = fact_lines(
            ("name", p.name), ("role", p.role), ("works here", "yes" if p.active else "no longer"),
            ("authorities in force", ", ".join(p.authorities) or "none"),
        )  # fmt: skip
        owed = tuple(
            Row(
                (o.what, o.state, str(o.due_on or "—"), days_in_words((o.due_on - today).days) if o.due_on else o.state, o.source),
                None, f"{o.what}: {o.state}" + (f", last {o.last_done_on}" if o.last_done_on else "") + f" ({o.source}) [{o.record}]",
                "bad" if o.what in late else "warn" if o.state == "due soon" else "",
            )
            for o in found.owed
        )  # fmt: skip
        self.show(
            f"{p.code} {p.name}",
            f"{p.role}{'' if p.active else ', no longer here'}",
            (
                Section("person", text=f"{facts}\n\n{ATTRIBUTION}"),
                Section("due", _DUE, owed, "no qualification and no test of vision is on record"),
                Section("qualifications", _QUALIFICATIONS, tuple(map(_qualification, found.qualifications)), "no qualification is on record"),
                Section("tests of vision", _TESTS, tuple(map(_test, found.tests)), "no test of vision is on record"),
            ),
            f"Can't sign for lots that ask for it: {', '.join(late)}" if late else "",
        )  # fmt: skip

    def action_qualification(self) -> None:
        app = self.refstd

        def keep(d: QualificationDraft, _: object, operation: str) -> str:
            return record_qualification(app.lab, d, by=app.by, now=app.now(), operation=operation)

        self._record("Qualification", QualificationDraft, keep)

    def action_vision(self) -> None:
        app = self.refstd

        def keep(d: VisionDraft, _: object, operation: str) -> str:
            return record_vision(app.lab, d, by=app.by, now=app.now(), operation=operation)

        self._record("Test of vision", VisionDraft, keep)

    def _record(self, title: str, kind: type[Draft], keep: Callable[..., str]) -> None:
        if self.may_record():
            form: FormScreen[Any] = FormScreen(
                f"{title} of {self.code}", kind, keep, lambda number: self._recorded(f"{number} recorded"),
                given={"person": self.code}, leave_out=("person",),
            )  # fmt: skip
            self.app.push_screen(form)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action == "correct" and self.section not in ("qualifications", "tests of vision"):
            return False
        return super().check_action(action, parameters)

    def action_correct(self) -> None:
        row = self.query_one(Rows).row
        if self.found is None or row is None or row.opens is None or not self.may_record():
            return
        number = row.opens[1]
        held = next((q for q in self.found.qualifications if q.number == number), None)
        seen = next((v for v in self.found.tests if v.number == number), None)
        if held is not None:
            self._anew(number, QualificationDraft, held, correct_qualification)
        elif seen is not None:
            self._anew(number, VisionDraft, seen, correct_vision)

    def _anew(self, number: str, kind: type[Draft], shown: object, correct: Callable[..., str]) -> None:
        app = self.refstd

        def onward(draft: Draft) -> None:
            form = app.screen
            assert isinstance(form, HeadForm)

            def given_why(why: str | None) -> None:
                if why is not None and why.strip():
                    form.act(
                        lambda op: correct(app.lab, number, draft, why, by=app.by, now=app.now(), operation=op),
                        lambda new: done(new),
                    )

            app.push_screen(AskLine(f"Why is {number} recorded anew?"), given_why)

        def done(new: str) -> None:
            app.pop_screen()
            self._recorded(f"{new} takes the place of {number}")

        given = {name: text_of(getattr(shown, name)) for name in kind.model_fields}
        self.app.push_screen(
            HeadForm(f"{number} of {self.code} anew", kind, onward, given=given, leave_out=("person",))
        )

    def _recorded(self, says: str) -> None:
        self.tell(says)
        self.load()


def _qualification(q: QualificationShown) -> Row:
    held = f"{q.method} level {q.level}" + (f", {q.sector}" if q.sector else "")
    about = f"{q.number} {held}, certificate {q.certificate_no} under {q.scheme}, authorised on {q.authorised_on}"
    return Row(
        (q.number, held, q.certificate_no, str(q.authorised_on), str(q.expires_on), _stands(q)),
        ("", q.number), about + _why(q), "quiet" if q.superseded_by else "",
    )  # fmt: skip


def _test(v: VisionShown) -> Row:
    about = f"{v.number} {v.kind}" + (f": {v.result}" if v.result else "") + f" ({v.practice})"
    return Row(
        (v.number, v.kind, str(v.tested_on), "yes" if v.passed else "no", str(v.expires_on or "—"), _stands(v)),
        ("", v.number), about + _why(v), "quiet" if v.superseded_by else "" if v.passed else "bad",
    )  # fmt: skip


def _stands(record: QualificationShown | VisionShown) -> str:
    return f"corrected by {record.superseded_by}" if record.superseded_by else "stands"


def _why(record: QualificationShown | VisionShown) -> str:
    return f"\ncorrects {record.corrects}: {record.why}" if record.corrects else ""
