"""The custodian's day by keys: entering, evidence, state, custody, people, procedures, import, care."""

from pathlib import Path

import pytest
from textual.widgets import Input

from refstd.desk import certificates, custody, findings, people, procedures, qualifications, store
from refstd.desk.entry import draft_or_refuse
from refstd.desk.history import item_record
from refstd.desk.store import When
from refstd.tui.procedurepage import ProcedurePage
from tests.tui.busy_lab import TODAY
from tests.tui.driving import Driver, driven

NOW = When(TODAY)


async def enter_block(d: Driver, asset_no: str, notches: tuple[tuple[str, str], ...]) -> None:
    """Enter a plate block of AL7075, 10 mm thick, from the home screen."""
    await d.keys("n", "1")
    await d.type(asset_no)
    await d.keys("tab")
    await d.type("step block")
    await d.keys(*["tab"] * 9, "i", *["tab"] * 3)  # in service, not newly come in; then to the material
    await d.keys("1", "tab", "tab", "p", "tab")
    await d.type("10")
    await d.keys("f2")
    for label, depth in notches:
        await d.type(label)
        await d.keys("tab")
        await d.type(depth)
        await d.keys("enter")
    await d.keys("f2")


async def test_a_block_with_four_notches_and_a_certificate_with_one_value_out_becomes_limited_use(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await enter_block(d, "B-9", (("A", "0.2"), ("B", "0.5"), ("C", "1.0"), ("D", "1.5")))
        assert "B-9 step block" in d.text
        await d.keys("c")
        await d.type("K-77")
        await d.keys("tab")
        await d.type("Cal lab")
        await d.keys("tab", "tab")
        await d.type("2026-02-20")
        await d.keys(*["tab"] * 9, "s", "f2")  # decision rule: simple
        assert "Values of certificate K-77, B-9" in d.text
        for value in ("0.01", "2"):
            await d.type(value)
            await d.keys("enter")
        await d.keys("enter", "enter", "enter")
        await d.type("drawing 7")
        await d.keys("enter")
        for measured, low, high in (
            ("0.21", "0.15", "0.25"),
            ("0.56", "0.45", "0.55"),
            ("1.01", "0.9", "1.1"),
            ("1.5", "1.4", "1.6"),
        ):
            await d.type(measured)
            await d.keys("tab", "tab", "tab")
            await d.type(low)
            await d.keys("tab")
            await d.type(high)
            await d.keys("enter")
        await d.keys("enter")
        assert "! B-9 limited use, without notch B" in d.flat
        await d.keys("i")
        assert "LIMITED USE" in d.text
        assert "limited use, without notch B" in d.flat
        assert (
            "0.56 mm (U = 0.01 mm, k = 2; probability of conformity 2.3 %), limit 0.45 to 0.55 mm (drawing 7) [certificate K-77]"
            in d.flat
        )
        await d.keys("3")
        assert "0.56 mm, U 0.01 mm, k 2" in d.text
        verdict = item_record(d.app.lab, "B-9", NOW).status.verdict
        assert (verdict.standing, verdict.struck) == ("limited use", ("notch B",))


async def test_a_notch_deeper_than_its_block_is_refused_in_its_row_and_nothing_typed_is_lost(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await enter_block(d, "B-9", (("A", "0.2"), ("B", "12")))
        assert "notch 2 (B): is 12 mm deep in a block of 10 mm" in d.flat
        await d.keys("escape")
        assert "Enter a new block" in d.text
        assert "step block" in d.text
        await d.keys("escape", "2")  # leave all the same
        assert "Custodian" in d.text


async def test_a_step_back_from_the_notches_keeps_them_and_leaving_the_form_asks_first(busy: Path) -> None:
    """Planted bug it caught: the rows thrown away on Esc, so that a mistyped thickness cost every notch."""
    async with driven(busy, "CUS") as d:
        await enter_block(d, "B-9", (("A", "0.2"), ("B", "12")))
        await d.keys("escape", "escape")
        assert "would be lost" in d.flat
        await d.keys("1")  # stay
        d.app.screen.query_one("#field-thickness_mm", Input).value = "20"
        await d.keys("f2", "f2")
        assert "B-9 step block" in d.text
        notches = item_record(d.app.lab, "B-9", NOW).item.notches
        assert [(n.label, str(n.depth_mm)) for n in notches] == [("A", "0.2"), ("B", "12")]
        await enter_block_again(d)
        await d.keys("escape", "escape", "2")  # leave
        assert "Custodian" in d.text


async def enter_block_again(d: Driver) -> None:
    """Enter a second block's form and one notch from the first one's page, and stop there."""
    await d.keys("escape")
    await d.keys("n", "1")
    await d.type("B-10")
    await d.keys("tab")
    await d.type("x")
    await d.keys(*["tab"] * 12, "1", "tab", "tab", "p", "tab")
    await d.type("10")
    await d.keys("f2")
    await d.type("A")


async def test_f6_copies_the_field_of_the_row_above_and_goes_to_the_next_one(busy: Path) -> None:
    """Planted bug it caught: the field of the row below."""
    async with driven(busy, "CUS", size=(120, 40)) as d:
        await enter_block(d, "B-9", (("A", "0.2"), ("B", "0.25")))
        await d.keys("c")
        await d.type("K-77")
        await d.keys("tab")
        await d.type("Cal lab")
        await d.keys("tab", "tab")
        await d.type("2026-02-20")
        await d.keys("f2")
        await d.keys(*["enter"] * 5)
        await d.type("drawing 7")
        await d.keys("enter", "f6")
        assert "no row above" in d.notices
        await d.type("0.21")
        for value in ("0.010", "2.00", "0.15", "0.25"):
            await d.keys("tab")
            await d.type(value)
        await d.keys("enter")
        await d.type("0.25")
        await d.keys("tab", *["f6"] * 4, "enter")
        [paper] = item_record(d.app.lab, "B-9", NOW).certificates
        copied = [
            (str(v.value), str(v.expanded_uncertainty), str(v.coverage_factor), str(v.upper_limit))
            for v in paper.values
        ]
        assert copied == [("0.21", "0.010", "2.00", "0.25"), ("0.25", "0.010", "2.00", "0.25")]


async def test_a_depth_is_shown_at_its_notch_however_the_paper_writes_it(busy: Path) -> None:
    """Planted bug it caught: 'Notch depth' compared letter by letter with 'depth', so that the page said 'none'."""
    async with driven(busy, "CUS") as d:
        paper = {"asset_no": "B-1", "number": "K-88", "laboratory": "Cal lab", "performed_on": "2026-02-27"}
        value = {"notch": "0.5 mm", "quantity": "Notch depth", "value": "0.533", "expanded_uncertainty": "0.010"}
        certificates.file_certificate(
            d.app.lab, draft_or_refuse(certificates.CertificateDraft, paper, "paper"),
            [draft_or_refuse(certificates.ValueDraft, value | {"coverage_factor": "2"}, "value")], by="CUS", now=TODAY,
        )  # fmt: skip
        await d.keys("b", "enter", "3")
        assert "0.533 mm" in d.text


async def test_a_double_enter_on_the_last_step_enters_one_block(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("n", "1")
        await d.type("B-9")
        await d.keys("tab")
        await d.type("x")
        await d.keys(*["tab"] * 12, "1", "tab", "tab", "p", "f2")
        await d.type("A")
        await d.keys("tab")
        await d.type("0.2")
        await d.pilot.press("f2", "f2", "f2")
        await d.settle()
        assert "Put on record" not in d.text
        events = item_record(d.app.lab, "B-9", NOW).events
        assert sorted(e.kind for e in events) == ["description", "notch", "state"]


async def test_quarantine_needs_a_reason_and_shows_at_home_with_it(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "enter", "s", "q")
        await d.keys("f2")
        assert "reason *   ! is missing" in d.text.replace("\n", "")
        await d.type("dropped on the floor")
        await d.keys("f2")
        assert "DO NOT USE" in d.text
        assert "quarantined" in d.text
        await d.keys("escape", "escape")
        assert "dropped on the floor" in d.text
        assert item_record(d.app.lab, "B-1", NOW).item.state == "quarantined"


async def test_find_opens_the_block_and_says_word_for_word_why_it_may_not_be_used(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("slash")
        await d.type("B-3")
        await d.keys("enter")
        assert "DO NOT USE" in d.text
        for line in item_record(d.app.lab, "B-3", NOW).status.verdict.in_words():
            assert " ".join(line.split()) in d.flat


async def test_find_by_words_lists_every_kind_of_record(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("slash")
        for words, found in (
            ("wing", "job"),
            ("200 khz", "setup"),
            ("plates", "procedure"),
            ("c-0027", "check"),
            ("failed job", "finding"),
        ):
            await d.type(words)
            assert f" {found} " in d.text, words
            await d.keys(*["backspace"] * len(words))
        assert "nothing looked for yet" in d.text


@pytest.mark.parametrize("sound", [True, False])
async def test_what_is_marked_at_the_check_in_desk_comes_back_together(busy: Path, sound: bool) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("h", "space", "down", "space", "g" if sound else "u")
        if not sound:
            await d.type("cracked")
        await d.keys("enter")
        out = {o.asset_no for o in custody.out_now(d.app.lab, NOW)}
        assert len(out) == 1
        opened = [f for f in findings.findings(d.app.lab, NOW, only_open=True) if f.cause == "damage"]
        assert len(opened) == (0 if sound else 2)


async def test_a_release_by_the_custodian_is_refused_word_for_word(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("f", "enter", "r")
        await d.type("looks fine")
        await d.keys("enter")
        assert "CUS (custodian) may not release a finding (authority). Ask someone with the authority" in d.notices
        assert not findings.finding(d.app.lab, "F-0007", NOW).released


async def test_a_level_3_decides_and_releases_a_finding(busy: Path) -> None:
    async with driven(busy, "LV3") as d:
        await d.keys("slash")
        await d.type("F-0007")
        await d.keys("enter")
        await d.keys("r")
        await d.type("done")
        await d.keys("enter")
        assert "holds lots that are not decided" in d.notices
        await d.keys("d")
        await d.type("re-examine panels 1 to 4")
        await d.keys("enter", "r")
        await d.type("re-examined")
        await d.keys("enter")
        assert "RELEASED" in d.text
        assert findings.finding(d.app.lab, "F-0007", NOW).released


async def test_a_block_is_described_anew_with_its_reason_and_only_the_changed_notch(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "down", "enter", "e", "f2")
        assert "Notches of B-2" in d.text
        await d.keys("tab", "end", "backspace")
        await d.type("5")
        await d.keys("f2")
        await d.type("drawing read wrongly")
        await d.keys("enter")
        assert "described anew" in d.notices
        record = item_record(d.app.lab, "B-2", NOW)
        assert [str(n.depth_mm) for n in record.item.notches] == ["0.5", "0.5", "1.0"]
        assert record.item.revision == 2
        assert sum(e.kind == "notch" and "revision 2" in e.says for e in record.events) == 1


async def test_a_schedule_set_on_the_record_clears_that_nothing_says_when_it_is_due(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "end", "enter", "5")
        assert "no schedule is set" in d.text
        await d.keys("d", "c", "tab")
        await d.type("12")
        await d.keys(*["tab"] * 7)
        await d.type("written practice 4.2")
        await d.keys("f2")
        assert "never done" in d.text
        assert "12 months (written practice 4.2)" in d.flat


async def test_another_interval_begins_from_the_schedule_in_force_so_that_nothing_of_it_is_lost(busy: Path) -> None:
    """Planted: the form began empty; with the months changed, the laboratory and the source were gone."""
    async with driven(busy, "CUS") as d:
        await d.keys("b", "enter", "5", "d")
        assert "written practice 4.2" in d.text
        await d.keys("tab")
        await d.keys("ctrl+u")
        await d.type("6")
        await d.keys("f2")
        assert "Say why it changes" in d.flat
        await d.keys(*["tab"] * 9)
        await d.type("found out of tolerance twice")
        await d.keys("f2")
        assert "6 months (written practice 4.2)" in d.flat


async def test_a_certificate_is_withdrawn_with_a_reason_and_stays_on_record(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "enter", "4", "z")
        await d.type("wrong block measured")
        await d.keys("enter")
        assert "superseded or withdrawn" in d.text
        assert not any(c.in_force for c in item_record(d.app.lab, "B-1", NOW).certificates)


async def test_a_certificate_is_corrected_from_what_is_on_record(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "down", "enter", "4", "y")
        await d.type("figures exchanged")
        await d.keys("enter", "f2")
        assert "0.612" in d.text
        await d.keys("down", "end", *["backspace"] * 5)
        await d.type("0.512")
        await d.keys("f2")
        record = item_record(d.app.lab, "B-2", NOW)
        assert [c.in_force for c in record.certificates] == [False, True]
        assert record.status.verdict.standing == "serviceable"


async def test_the_attached_paper_is_read_from_its_file_and_written_out_again(busy: Path, tmp_path: Path) -> None:
    paper = tmp_path / "k.pdf"
    paper.write_bytes(b"%PDF-1.7 invented")
    async with driven(busy, "CUS") as d:
        await d.keys("b", "end", "enter", "c")
        await d.type("K-5")
        await d.keys("tab")
        await d.type("Cal lab")
        await d.keys("tab", "tab")
        await d.type("2026-02-20")
        await d.keys("f2", "f4")
        await d.type(str(paper))
        await d.keys("enter", "f2")
        assert "? no value is typed: the certificate alone is filed" in d.flat
        await d.keys("2")
        certificate = item_record(d.app.lab, "B-5", NOW).certificates[0]
        name, content = certificates.paper_bytes(d.app.lab, certificate.paper_sha256, NOW)
        assert (name, content) == ("k.pdf", b"%PDF-1.7 invented")
        await d.keys("c", "o", *["backspace"] * 5)
        await d.type(str(paper))
        await d.keys("enter")
        assert "exists and is not overwritten" in d.notices


async def test_people_and_authorities_are_kept_from_their_page(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("u", "n")
        await d.type("NEW")
        await d.keys("tab")
        await d.type("Nora Example")
        await d.keys("tab", "t", "f2")
        assert "Nora Example" in d.text
        await d.keys("down", "down", "g")  # AUD, CUS, LV3
        await d.keys("q")
        await d.keys("tab", "tab", "tab")
        await d.type("audited")
        await d.keys("f2")
        shown = {p.code: p for p in people.people(d.app.lab, NOW)}
        assert shown["NEW"].role == "technician"
        assert sum("quality" in p.authorities for p in shown.values()) == 1


async def test_qualification_and_test_of_vision_are_recorded_corrected_and_shown_as_due(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("u", "end", "enter", "q")  # TEC
        for typed in ("ET", "2", "", "written practice 3.1", "77-1", "2024-01-10", "2029-01-09"):
            await d.type(typed)
            await d.keys("tab")
        await d.keys("f2", "v", "n", "tab")
        await d.type("2025-03-20")
        await d.keys("tab", "y", "tab", "tab")
        await d.type("2026-03-19")
        await d.keys("tab")
        await d.type("written practice 3.2")
        await d.keys("f2", "2")
        assert "test of near vision" in d.text
        assert "in 17 days" in d.text
        await d.keys("4", "c")
        for _ in range(4):
            await d.keys("tab")
        await d.keys("ctrl+u")
        await d.type("2026-02-28")
        await d.keys("f2")
        await d.type("year misread")
        await d.keys("enter")
        assert "corrected by V-0002" in d.flat
        await d.keys("2")
        assert "2 days late" in d.text
        found = qualifications.person_record(d.app.lab, "TEC", NOW)
        assert [(v.number, str(v.expires_on), v.why) for v in found.tests] == [
            ("V-0002", "2026-02-28", "year misread"), ("V-0001", "2026-03-19", ""),
        ]  # fmt: skip
        assert [q.certificate_no for q in found.qualifications] == ["77-1"]
        await d.keys("escape", "escape")
        assert "Due of people (1)" in d.flat
        await d.keys("d", "end")
        assert "People (2)" in d.flat


async def test_a_person_who_leaves_stays_on_record(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("u", "end", "e", "tab", "tab", "n", "f2")
        await d.type("retired")
        await d.keys("enter")
        assert "left" in d.text
        assert not next(p for p in people.people(d.app.lab, NOW) if p.code == "TEC").active


async def test_the_next_revision_of_a_procedure_begins_from_the_one_in_force(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("r", "enter", "2")
        assert "±5 % FSH of target" in d.flat
        await d.keys("n")
        await d.type("wording of 5.3")
        await d.keys("enter")
        assert "Next revision of PR-1" in d.text
        await d.type("C")
        await d.keys("f2")
        filed, before = procedures.all_revisions(d.app.lab, NOW, "PR-1")
        assert (filed.issue, len(filed.limits), len(filed.targets)) == ("C", 2, 1)
        assert (filed.standing, before.standing) == ("drafted", "in force")
    for by, key, why, stands in (("TEC", "v", "compared", "reviewed"), ("LV3", "a", "fit for use", "in force")):
        async with driven(busy, by) as d:
            d.app.push_screen(ProcedurePage("PR-1"))
            await d.keys(key)
            await d.type(why)
            await d.keys("enter")
            assert procedures.all_revisions(d.app.lab, NOW, "PR-1")[0].standing == stands


async def test_an_import_lists_every_problem_first_and_writes_nothing(busy: Path, tmp_path: Path) -> None:
    file = tmp_path / "probes.csv"
    rows = "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector"
    file.write_text(
        f"{rows}\nP-8,pencil,pencil,bridge,absolute,50,500,L4\nP-1,pencil,pencil,bridge,absolute,x,500,L4\n"
    )
    async with driven(busy, "CUS") as d:
        await d.keys("x")
        await d.type(str(file))
        await d.keys("enter")
        assert "NOTHING WAS WRITTEN" in d.text
        assert "lowest_khz" in d.text
        file.write_text(f"{rows}\nP-8,pencil,pencil,bridge,absolute,50,500,L4\n")
        await d.keys("enter")
        assert "CHECKED, nothing was written" in d.text
        await d.keys("f2")
        assert "PUT ON RECORD" in d.text
        assert item_record(d.app.lab, "P-8", NOW).item.name == "pencil"


async def test_care_verifies_deep_and_makes_a_backup_that_is_named(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("v", "v")
        assert "✓ whole, as far as these steps can tell" in d.flat
        assert "records against log" in d.flat
        await d.keys("b")
        kept = list((busy.parent / "backups").glob("*.refstd"))
        assert len(kept) == 1
        assert kept[0].name in d.notices
        assert store.verify(kept[0], deep=True).whole


async def test_the_register_filters_as_one_types(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("b", "tab")
        assert d.app.focused is not None
        assert d.app.focused.id == "filter"
        await d.type("overdue")
        assert "B-3" in d.text
        assert "B-4" not in d.text
        await d.keys("escape")
        assert "B-4" in d.text
        await d.keys("tab")
        await d.type("B-3")
        await d.keys("enter")
        assert "DO NOT USE   B-3" in d.text


async def test_a_material_is_entered_for_the_next_block(busy: Path) -> None:
    async with driven(busy, "CUS") as d:
        await d.keys("m", "n")
        for text in ("TI64", "Ti-6Al-4V", "titanium alloy"):
            await d.type(text)
            await d.keys("tab")
        await d.keys("n", "tab")
        await d.type("1.0")
        await d.keys("tab")
        await d.type("data sheet 3")
        await d.keys("f2")
        assert "Ti-6Al-4V" in d.text
