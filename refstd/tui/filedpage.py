"""What a filed certificate changes, on one page: the item's verdict, each value judged, for what it is out, what else follows."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.widgets import Static

from refstd.base.quantity import plain, with_unit
from refstd.base.text import safe
from refstd.desk.agreement import LIMIT, Agreement
from refstd.desk.duties import DueRow
from refstd.desk.filed import Filed, ValueFiled, filed
from refstd.tui.commands import BACK, EVERYWHERE, Command
from refstd.tui.pages import ListPage
from refstd.tui.record_sections import due_day, due_tone, due_words, when_due
from refstd.tui.valuewords import P_IS, says_of, value_row
from refstd.tui.widgets.rows import READING, Col, Row, Rows, heading
from refstd.tui.widgets.verdict import sign_of

_TONES = {"disagree": "bad", "not acceptable": "bad", "not conclusive": "warn"}


class FiledPage(ListPage):
    """What follows from a certificate in force. Enter opens the check, procedure or finding under the cursor."""

    COLUMNS: ClassVar[tuple[Col, ...]] = (
        Col("what", 12), Col("nominal", 7, right=True), Col("value, day", 10, right=True), Col("how it stands", 18), Col("says"),
    )  # fmt: skip
    DEFAULT_CSS = """
    FiledPage #stands { height: auto; max-height: 2; padding: 0 1; text-style: bold; }
    FiledPage #sum { height: auto; max-height: 3; padding: 0 1; }
    """
    COMMANDS_HERE: ClassVar[tuple[Command, ...]] = (
        Command(
            "c", "certificate", "Certificate", "Open the certificate: what the paper says of itself, and the paper."
        ),
        Command("i", "item", "Item", "Open the record of the item."),
        BACK,
        *EVERYWHERE,
    )

    def __init__(self, asset_no: str, number: str) -> None:
        super().__init__()
        self.asset_no, self.number = asset_no, number

    def body(self) -> ComposeResult:
        yield Static(id="stands", markup=False)
        yield Static(READING, id="sum", markup=False)
        yield Rows(*self.COLUMNS)
        yield Static(classes="about", id="about", markup=False)

    def load(self) -> None:
        lab, when = self.refstd.lab, self.refstd.when()
        self.ask(lambda: filed(lab, self.asset_no, self.number, when), self.show_filed)

    def show_filed(self, found: Filed) -> None:
        """Show the answer: the verdict first."""
        self.head(f"What follows from {found.number}")
        stands = self.query_one("#stands", Static)
        stands.update(
            Text(f"{sign_of(found.verdict.standing)} {safe(found.asset_no)} {safe(found.verdict.headline())}")
        )
        self.say("#sum", in_short(found))
        first = self.row is None
        self.fill(rows_of(found, self.local))
        out = next((r for r in self.query_one(Rows).shown if r.tone == "bad" and r.opens), None)
        if first and out is not None and out.opens is not None:
            self.query_one(Rows).go_to(out.opens)

    def action_certificate(self) -> None:
        from refstd.tui.certificatepage import CertificatePage

        self.app.push_screen(CertificatePage(self.asset_no, self.number))

    def action_item(self) -> None:
        self.open_record("item", self.asset_no)


def in_short(found: Filed) -> str:
    """Return all that follows in a sentence: values, procedures, findings, checks, and the next day that something is due."""
    out, every = len(found.not_conforming), len(found.values)
    says = [
        f"{out} of {_many(every, 'value')} {'does' if out == 1 else 'do'} not conform" if out else _kept(found.values)
    ]
    if found.verdict.standing == "do not use":
        says.append("out for every procedure")
    elif found.out_for:
        says.append(f"out for {', '.join(o.code for o in found.out_for)}")
    elif found.not_conforming:
        says.append("no procedure in force needs what is struck out")
    if found.findings:
        says.append(
            f"{'finding' if len(found.findings) == 1 else 'findings'} {', '.join(f.number for f in found.findings)}"
        )
    if found.in_doubt:
        says.append("out of tolerance, and no finding: see below")
    if found.checks:
        says.append(f"{_many(len(found.checks), 'check')} used the depth from before")
    days = [(day, r.activity) for r in found.due if (day := r.first_on) is not None]
    says.append("next due: {1} {0}".format(*min(days)) if days else "nothing is due by the calendar")
    return "; ".join(says)


def _kept(values: Sequence[ValueFiled]) -> str:
    judged = [v for v in values if v.outcome and v.outcome != "not judged"]
    if not values:
        return "no value"
    if len(judged) < len(values):
        return (
            f"{len(judged)} of {_many(len(values), 'value')} judged, and conforming"
            if judged
            else f"{_many(len(values), 'value')}, not judged"
        )
    return f"{_many(len(values), 'value')} conforming"


def _many(count: int, name: str) -> str:
    return f"{count} {name}{'' if count == 1 else 's'}"


def rows_of(found: Filed, local: Callable[[datetime], str]) -> list[Row]:
    """Return what follows under headings: values, procedures, findings, duties, agreement, checks with the newest first."""
    before = f"certificate {found.earlier}" if found.earlier else "the paper before"
    return [
        *_under("Values", [_value_row(v) for v in found.values], f"; {P_IS}"),
        *_under("Out for", [
            Row((o.code, "", "", "✗ out", o.why), ("procedure", o.code), f"out for {o.procedure}: {o.why}", "bad") for o in found.out_for
        ]),
        *_under("Findings", [
            Row((f.number, "", "", "✓ released" if f.released else "✗ open", f.says), ("finding", f.number), f"finding {f.number}: {f.says}", "quiet" if f.released else "bad")
            for f in found.findings
        ]),
        *_under("Out of tolerance, and no finding", [
            Row(("no finding", "", "", "! nothing open", found.in_doubt), about=found.in_doubt, tone="warn") for _ in range(bool(found.in_doubt))
        ]),
        *_under("Due", [_due_row(r) for r in found.due]),
        *_under(f"Against {before}", [_agreement_row(a) for a in found.agreements]),
        *_under("Checks that used the depth from before", [
            Row((c.number, "", local(c.happened_at)[:10], f"{sign_of(c.outcome)} {c.outcome}", ", ".join(c.notches)), ("check", c.number),
                f"check {c.number} of {local(c.happened_at)}, {c.outcome}, read {', '.join(c.notches)} by {before}", _TONES.get(c.outcome, ""))
            for c in reversed(found.checks)
        ]),
    ]  # fmt: skip


def _under(title: str, rows: list[Row], more: str = "") -> list[Row]:
    return [heading(f"{title} ({len(rows)}){more}"), *rows] if rows else []


def _value_row(v: ValueFiled) -> Row:
    says = says_of(v.judged_in_short, (v.lower, v.upper), v.unit, v.expanded_uncertainty, v.coverage_factor)
    return value_row((v.notch, v.quantity, v.stage), v.nominal_mm, v.value, v.unit, v.outcome, says, v.in_words())


def _agreement_row(a: Agreement) -> Row:
    says = f"|E_n| = {a.figure()}, limit {LIMIT}" if a.figure() else a.why_not
    return Row(
        (a.later.notch or a.later.quantity, "", with_unit(plain(a.later.value), a.later.unit), f"{sign_of(a.outcome)} {a.outcome}",
         "; ".join((says, *a.notes))),
        about=a.in_words(), tone=_TONES.get(a.outcome, ""),
    )  # fmt: skip


def _due_row(r: DueRow) -> Row:
    when = when_due(r)
    says = ", ".join(x for x in (when if when != r.state else "", f"{r.how_often} ({r.source})") if x)
    return Row((r.activity, "", due_day(r), r.state, says), about=due_words(r), tone=due_tone(r))
