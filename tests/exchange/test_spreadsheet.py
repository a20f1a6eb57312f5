"""The register from CSV files: every problem named where it stands, all of it or nothing, and an export that reads back.

Planted bugs that these tests caught: notches exported in another order than the block has them; the apostrophe before what
could run as a formula not taken off on import; a dry run that was committed; a block's missing material told again by each
of its schedules; a reader that passes over an open quotation mark.
"""

import csv
import io
import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from refstd.base.errors import BadInput, NotAllowed, WrongUsage
from refstd.base.text import safe
from refstd.desk import swaps
from refstd.desk.certified import judged_in
from refstd.desk.entry import draft_or_refuse
from refstd.desk.items import register
from refstd.desk.job_parts import DetailsDraft
from refstd.desk.jobs import describe_job
from refstd.desk.order_tests import OrderTestDraft, order_tests_in, record_order_test
from refstd.desk.people import PersonDraft, enter_person, people
from refstd.desk.procedures import procedures
from refstd.desk.setups import setups
from refstd.desk.store import Lab, When, make_store, open_store, verify
from refstd.desk.tolerances import ToleranceDraft, set_tolerance
from refstd.exchange.cells import table_from
from refstd.exchange.export import export_register
from refstd.exchange.kinds import KINDS
from refstd.exchange.spreadsheet import Imported, Source, import_files, sources_in
from tests import swap_lab, thin_thread
from tests.desk.test_order_tests import values_of
from tests.given import KEEPER, MORNING, NOON
from tests.published.display_transforms import RS, SR

LATER = thin_thread.at(60)


def read_in(lab: Lab, files: dict[str, str | bytes], *, only_check: bool = False) -> Imported:
    """Import files given by kind."""
    sources = [
        Source(kind, f"{kind}.csv", text.encode() if isinstance(text, str) else text) for kind, text in files.items()
    ]
    return import_files(lab, sources, by=KEEPER, now=LATER, only_check=only_check)


def problems(lab: Lab, files: dict[str, str | bytes]) -> list[str]:
    """Return the problems of files that must be refused, and see to it that nothing was written."""
    before = verify(lab.path, deep=False).head
    with pytest.raises(BadInput) as refused:
        read_in(lab, files)
    assert verify(lab.path, deep=True).head == before
    assert all(p.remedy for p in refused.value.problems)
    return [f"{p.where}: {p.wrong}" for p in refused.value.problems]


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with people and materials and no equipment."""
    thin_thread.people_and_material(lab)
    return lab


PROBE = "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector\n"
MATERIAL = "code,name,family,magnetic_class,source\n"


def test_every_problem_of_every_file_is_listed_with_its_row_and_column(ready: Lab) -> None:
    found = problems(
        ready,
        {
            "blocks": "asset_no,name,material,form,thickness_mm\nB-1,one,AL,plate,2\nB-2,two,XX,plate,ten\nB-3,three,YY,plate,3\n",
            "notches": "asset_no,label,depth_mm\nB-1,deep,5\nB-9,stray,0.5\nB-2,of a failed block,0.5\n",
            "probes": PROBE
            + "P-1,p,pencil,bridge,absolute,500,50,four-pin\nP-1,p,pencil,bridge,absolute,50,500,four-pin\n",
            "schedules": "asset_no,activity,every_months,source\nB-1,calibration,12,WP 4\nP-7,calibration,12,WP 4\n",
        },
    )
    assert found == [
        "blocks.csv, row 3, thickness_mm: 'ten' is not a plain number",
        "blocks.csv, row 4: a material with the number 'YY' is not on record",
        "notches.csv, row 2, notch 1 (deep): is 5 mm deep in a block of 2 mm",
        "notches.csv, row 3, asset_no: blocks.csv has no row for 'B-9'",
        "probes.csv, row 2, highest_khz: is below the lowest frequency",
        "probes.csv, row 3, asset_no: 'P-1' stands in row 2 too",
        "schedules.csv, row 3: an item with the number 'P-7' is not on record",
    ]
    # B-1's schedule and B-2's notch are only consequences and are not listed beside their causes.


def test_all_files_are_one_act_with_one_log_entry(ready: Lab) -> None:
    before = verify(ready.path, deep=False).head
    done = read_in(
        ready,
        {
            "blocks": "asset_no,name,material,form,thickness_mm\nB-1,one,AL,plate,10\n",
            "notches": "asset_no,label,depth_mm\nB-1,0.5 mm,0.500\n",
            "probes": PROBE + "P-1,p,pencil,bridge,absolute,50,500,four-pin\n",
            "schedules": "asset_no,activity,every_months,source\nB-1,calibration,12,WP 4\n",
        },
    )
    after = verify(ready.path, deep=True)
    assert done.counts == (("blocks", 1), ("notches", 1), ("probes", 1), ("schedules", 1))
    assert after.whole
    assert before is not None
    assert after.head is not None
    assert after.head.sequence == before.sequence + 1
    [block] = register(ready, When(LATER), "block")
    assert str(block.notches[0].depth_mm) == "0.500"  # as written


def test_a_dry_run_finds_the_same_and_writes_nothing(ready: Lab) -> None:
    before = verify(ready.path, deep=False).head
    files: dict[str, str | bytes] = {"probes": PROBE + "P-1,p,pencil,bridge,absolute,50,500,four-pin\n"}
    assert read_in(ready, files, only_check=True).counts == (("probes", 1),)
    assert verify(ready.path, deep=False).head == before
    with pytest.raises(BadInput):
        read_in(ready, {"probes": PROBE + "P-1,p,pencil,bridge,absolute,500,50,four-pin\n"}, only_check=True)


def test_the_one_who_imports_needs_the_permission(ready: Lab) -> None:
    source = Source("probes", "probes.csv", (PROBE + "P-1,p,pencil,bridge,absolute,50,500,four-pin\n").encode())
    with pytest.raises(NotAllowed, match="may not import"):
        import_files(ready, [source], by="TESS", now=LATER)


def test_a_procedure_is_taken_with_its_limits_and_only_as_approved_by_a_level_3(ready: Lab) -> None:
    heading = "code,issue,title,approved_on_paper_by,form,lowest_khz,highest_khz,frequency_paragraph,tell\n"
    files: dict[str, str | bytes] = {
        "procedures": heading + "PR-7,A,surface,TESS,plate,100,200,4.1,shift lead\n",
        "limits": "procedure,against,lower,upper,unit,paragraph\nPR-7,target,-5,5,% FSH,5.3\nPR-7,target,,,% FSH,5.4\n",
    }
    assert "may not approve a procedure" in problems(ready, files)[0]
    files["procedures"] = heading + "PR-7,A,surface,LENA,plate,100,200,4.1,shift lead\n"
    assert problems(ready, files) == ["limits.csv, row 3, limit 2: has neither lower nor upper"]
    files["limits"] = "procedure,against,lower,upper,unit,paragraph\nPR-7,target,-5,5,% FSH,5.3\n"
    read_in(ready, files)
    [shown] = procedures(ready, When(LATER))
    assert [(str(x.lower), str(x.upper), x.unit, x.paragraph) for x in shown.limits] == [("-5", "5", "% FSH", "5.3")]
    assert problems(ready, files) == ["procedures.csv, row 2: procedure PR-7 issue A is on record already"]


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "materials.csv: is empty"),
        (b"code;name;family\nA;b;c\n", "materials.csv, row 1: has no commas between its column names"),
        (b"code,name,name\nA,b,c\n", "materials.csv, row 1, column 3: 'name' stands twice"),
        (b"code,serial\nA,b\n", "materials.csv, row 1, column 2: 'serial' is not a column of this kind"),
        (b"code,name\nA,b,c\n", "materials.csv, row 2: has 3 cells under 2 column names"),
        (b"code,name\nA\n", "materials.csv, row 2: has 1 cells under 2 column names"),
        (b'code,name\nA,"b\n', "materials.csv, line 2: ends inside a quoted cell"),
        (b'code,name\nA,"b"c\n', "materials.csv, line 2: is not proper CSV: ',' expected after '\"'"),
        (b"code,name\nA,\xb5m\n", "materials.csv, line 2: is not UTF-8 text"),
        (b"code,name\nA,b\x00c\n", "materials.csv, row 2, name: contains a control or invisible character"),
        ("code,name\nA,b\u202ec\n".encode(), "materials.csv, row 2, name: contains a control or invisible character"),
        (b"code,name\nA," + b"x" * 10_001 + b"\n", "materials.csv, row 2, name: is 10001 characters long, at most 10000 are kept"),
        (b"code,name\n" + b"A,b\n" * 50_001, "materials.csv: has more than 50000 rows"),
    ],
)  # fmt: skip
def test_a_file_that_is_not_strictly_csv_is_refused_with_the_place(ready: Lab, content: bytes, found: str) -> None:
    """Each of these goes through the standard library's reader without a word unless it is looked for (measured)."""
    assert found in problems(ready, {"materials": content})


def test_quotes_commas_and_a_byte_order_mark_are_read_as_rfc_4180_has_them(ready: Lab) -> None:
    """RFC 4180, section 2, items 5 to 7 (MEMORY): cells in quotes, commas in them, a quote in a cell doubled; CR LF ends lines."""
    text = '\ufeffcode,name,family,magnetic_class,source\r\n"A1","b ""bb"", c",aluminium alloy,non-magnetic,"x, table 1"\r\n'
    read_in(ready, {"materials": text})
    written = export_register(ready, When(LATER))["materials.csv"].decode()
    assert 'A1,"b ""bb"", c",aluminium alloy,non-magnetic,,"x, table 1"\r\n' in written


def test_files_of_a_folder_are_known_by_their_names_and_others_are_left_alone(tmp_path: Path) -> None:
    (tmp_path / "probes.csv").write_text(PROBE)
    (tmp_path / "holiday.csv").write_text("a,b\n")
    assert [s.kind for s in sources_in(tmp_path)] == ["probes"]
    (tmp_path / "probes.csv").unlink()
    with pytest.raises(WrongUsage, match="no file of a name that is known"):
        sources_in(tmp_path)


@pytest.fixture
def second(tmp_path: Path) -> Iterator[Lab]:
    """A new store with the same first custodian."""
    lab = make_store(
        tmp_path / "second.refstd",
        name="Second",
        time_zone="Europe/Dublin",
        code=KEEPER,
        person="First Custodian",
        now=MORNING,
    )
    yield lab
    lab.close()


def test_an_export_read_into_a_new_store_gives_the_same_register(lab: Lab, second: Lab) -> None:
    thin_thread.whole(lab)
    hostile = {
        "asset_no": "B-2",
        "name": "=1+1",
        "note": "'-5",
        "location": "@home",
        "owner": "＝x",
        "serial_no": "007",
        "firmware": "-5",
    }
    thin_thread.block(lab, **{"number": "B-2", **{k: v for k, v in hostile.items() if k != "asset_no"}})
    allowed = {
        "asset_no": "B-2",
        "notch": "0.5 mm",
        "lower_limit": "0.48",
        "source": "=drawing",
        "decision_rule": "guard band",
    }
    allowed |= {"guard_ratio": "0.83", "upper_limit": "0.52"}
    set_tolerance(lab, draft_or_refuse(ToleranceDraft, allowed, "x"), by=KEEPER, now=NOON)
    thin_thread.certified(lab, "B-2", value="0.512")
    known = {"coating_mm": "0.08", "shims": "0.05 + 0.03 mm"}
    describe_job(lab, "J-1", draft_or_refuse(DetailsDraft, known, "x"), "measured", by="TESS", now=LATER)
    now = When(LATER)
    first = export_register(lab, now)
    assert "J-1,,,0.08,0.05 + 0.03 mm,,,,,,," in first["job_details.csv"].decode()
    sources = [Source(k.name, k.file, first[k.file]) for k in KINDS.values()]
    import_files(second, sources, by=KEEPER, now=LATER)
    again = export_register(second, When(thin_thread.at(120)))

    assert {k.file: again[k.file] for k in KINDS.values()} == {k.file: first[k.file] for k in KINDS.values()}
    assert first["tolerances.csv"].count(b"\r\n") == 2
    assert _without_ids(second) == _without_ids(lab)
    assert _outcomes(second) == _outcomes(lab) != []
    assert verify(second.path, deep=True).whole
    [block] = [i for i in register(second, When(LATER), "block") if i.asset_no == "B-2"]
    assert {name: getattr(block, name) for name in hostile} == hostile


def _outcomes(lab: Lab) -> list[object]:
    """Return how each value was judged on its filing, without when that was."""
    with lab.look(When(thin_thread.at(120))) as look:
        return [replace(x, recorded_at=NOON) for x in judged_in(look)]


def test_an_order_test_is_read_back_with_its_reader_and_leaves_the_description_as_it_is(lab: Lab, second: Lab) -> None:
    """The reference readings of both orders: tests/published/display_transforms.py. Planted bug that it caught: who imported
    stood as who had read."""
    thin_thread.people_and_material(lab)
    for number in ("I-1", "I-2", "I-3"):
        thin_thread.instrument(lab, number, display_order="unknown")
    other = {"code": "RENA", "name": "Another Custodian", "role": "custodian"}
    enter_person(lab, draft_or_refuse(PersonDraft, other, "x"), by=KEEPER, now=NOON)
    for number, order in (("I-1", RS), ("I-2", SR)):
        fields = {"asset_no": number, "note": "lift-off"} | values_of(order)
        record_order_test(lab, draft_or_refuse(OrderTestDraft, fields, "x"), by="RENA", now=thin_thread.at(30))
    first = export_register(lab, When(LATER))
    sources = [Source(k.name, k.file, first[k.file]) for k in KINDS.values()]
    done = import_files(second, sources, by=KEEPER, now=LATER)
    assert dict(done.counts)["order_tests"] == 2
    again = export_register(second, When(thin_thread.at(120)))
    assert again["order_tests.csv"] == first["order_tests.csv"]
    assert again["instruments.csv"] == first["instruments.csv"]
    with second.look(When(thin_thread.at(120))) as look:
        told = [(t.asset_no, t.found, t.person, t.superseded_by) for t in order_tests_in(look)]
    assert told == [("I-1", RS, "RENA", ""), ("I-2", SR, "RENA", "")]
    once_more = import_files(
        second, [Source("order_tests", "order_tests.csv", first["order_tests.csv"])], by=KEEPER, now=thin_thread.at(130)
    )
    assert once_more.unchanged == 2
    crossed = first["order_tests.csv"].replace(b"I-1", b"I-9").replace(b"I-2", b"I-1").replace(b"I-9", b"I-2")
    wrong = problems(second, {"order_tests": crossed})
    assert "row 2: the readings tell rotate-then-scale, and on record is scale-then-rotate" in wrong[0]


def _without_ids(lab: Lab) -> object:
    """Return everything that the register says, without what belongs to the one store alone."""
    now = When(LATER)
    items = [
        (i.asset_no, i.kind, i.name, i.part_no, i.serial_no, i.firmware, i.owner, i.note, i.state, i.location, i.special, i.notches, i.material)
        for i in register(lab, now)
    ]  # fmt: skip
    shown = [(p.code, p.issue, p.limits, p.targets, p.named, p.accepted, p.tell) for p in procedures(lab, now)]
    return items, shown, people(lab, now), [(s.number, s.conditions) for s in setups(lab, now)]


FORMULAS = ("=", "+", "-", "@", "\t=", "＝", "＋", "－", "＠", "'=", "''+", "'-1")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(st.sampled_from(FORMULAS), st.text(st.characters(codec="utf-8"), max_size=12))
def test_no_text_cell_of_an_export_begins_as_a_formula_and_all_are_read_back_exactly(start: str, rest: str) -> None:
    from refstd.exchange.export import _csv

    text = safe(start + rest + "x").strip()
    written = _csv(("name",), [{"name": text}])
    [[cell]] = list(csv.reader(io.StringIO(written.decode(), newline=""), strict=True))[1:]
    assert not cell.startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠"))
    table, wrong = table_from("x.csv", written, ("name",))
    if not wrong:  # U+FFFD stands for what may not be shown; it is an ordinary character to an import
        assert table.rows[0].cells["name"] == text


def test_numbers_stay_numbers_for_a_spreadsheet(lab: Lab) -> None:
    thin_thread.whole(lab)
    limits = export_register(lab, When(LATER))["limits.csv"].decode().splitlines()
    assert "PR-1,amplitude,target,,-5,5,% FSH,5.3" in limits


def test_checks_readings_loans_findings_and_the_log_are_written_beside_the_register(lab: Lab) -> None:
    thin_thread.whole(lab)
    start = thin_thread.check(lab, "start")
    thin_thread.lot(lab, start.number, "holes 1 to 20", 10)
    thin_thread.check(lab, "end", 0.8, 60)
    written = export_register(lab, When(thin_thread.at(120)))
    rows = {name: list(csv.DictReader(io.StringIO(content.decode(), newline=""))) for name, content in written.items()}
    assert [(c["number"], c["outcome"]) for c in rows["checks.csv"]] == [
        ("C-0001", "acceptable"),
        ("C-0002", "not acceptable"),
    ]
    assert [(r["check"], r["notch"], r["vertical"]) for r in rows["readings.csv"]][:2] == [
        ("C-0001", "1.5 mm", "95"), ("C-0001", "1.0 mm", "80"),
    ]  # fmt: skip
    assert rows["findings.csv"][0]["holds"] == "setup S-0001; lot L-0001 (panel 4: holes 1-20)"
    head = verify(lab.path, deep=False).head
    assert head is not None
    assert rows["log.csv"][-1]["hash"] == head.hash
    assert len(rows["log.csv"]) == head.sequence


def test_a_swap_test_is_written_with_its_steps(lab: Lab) -> None:
    swap_lab.build(lab)
    begun = swaps.SwapDraft(check=swap_lab.deviating(lab, "probe"), notch=swap_lab.NOTCH, why="low since Monday")
    swaps.start_swap(lab, begun, by="TESS", now=thin_thread.at(40))

    def written() -> list[dict[str, str]]:
        content = export_register(lab, When(thin_thread.at(120)))["swaps.csv"].decode()
        return list(csv.DictReader(io.StringIO(content, newline="")))

    assert [(r["number"], r["from_check"], r["exchanged"]) for r in written()] == [("W-0001", "C-0021", "")]
    read = swap_lab.seen("probe", "probe")
    swaps.record_step(lab, "W-0001", "probe", swap_lab.step_draft("probe"), read, by="TESS", now=thin_thread.at(50))
    [row] = written()
    assert (row["exchanged"], row["instead"], row["check"], row["result"]) == ("probe", "P-2", "C-0022", "went")
    assert row["says"].startswith("the deviation went: −0.01 dB now")


def test_an_export_as_at_a_past_instant_has_what_was_on_record_then(lab: Lab) -> None:
    thin_thread.people_and_material(lab)
    thin_thread.block(lab)
    then = export_register(lab, When(LATER, as_at=NOON))
    read_in(lab, {"probes": PROBE + "P-1,p,pencil,bridge,absolute,50,500,four-pin\n"})
    assert export_register(lab, When(thin_thread.at(120), as_at=NOON)) == then


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(
    st.binary(max_size=200) | st.text(st.sampled_from('code,name"\r\n\t;=\x00é\u202e1'), max_size=60).map(str.encode)
)
def test_whatever_bytes_a_file_holds_they_are_rows_or_problems_with_a_place_and_a_next_step(content: bytes) -> None:
    table, wrong = table_from("m.csv", content, KINDS["materials"].columns)
    assert table.rows or wrong
    for problem in wrong:
        assert problem.where.startswith("m.csv")
        assert problem.remedy
        assert safe(str(problem)) == str(problem)
    for row in table.rows:
        assert all(safe(cell) == cell for cell in row.cells.values()) or wrong


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(st.data())
def test_a_damaged_export_is_refused_in_words_or_read_but_never_a_fault(
    exported: dict[str, bytes], second_template: Path, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """One byte of one file is changed, taken out or doubled; the import ends as an answer or as a refusal."""
    kind = data.draw(st.sampled_from([k for k in KINDS.values() if exported[k.file].count(b"\n") > 1]))
    content = bytearray(exported[kind.file])
    place = data.draw(st.integers(0, len(content) - 1))
    content[place : place + 1] = data.draw(
        st.sampled_from([b"", b"\x00", b'"', b",", b"\n", b"9", b"-", content[place : place + 1] * 2])
    )
    files = {**exported, kind.file: bytes(content)}
    store = tmp_path_factory.mktemp("damaged") / "s.refstd"
    shutil.copyfile(second_template, store)
    lab = open_store(store)
    before = verify(store, deep=False).head
    try:
        import_files(lab, [Source(k.name, k.file, files[k.file]) for k in KINDS.values()], by=KEEPER, now=LATER)
    except (BadInput, WrongUsage):
        assert verify(store, deep=False).head == before
    finally:
        lab.close()


@pytest.fixture(scope="module")
def exported(template: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The export of a small lab."""
    path = tmp_path_factory.mktemp("exported") / "lab.refstd"
    shutil.copyfile(template, path)
    lab = open_store(path)
    thin_thread.whole(lab)
    files = export_register(lab, When(LATER))
    lab.close()
    return files


@pytest.fixture(scope="module")
def second_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new store to copy."""
    path = tmp_path_factory.mktemp("second") / "s.refstd"
    make_store(
        path, name="Second", time_zone="Europe/Dublin", code=KEEPER, person="First Custodian", now=MORNING
    ).close()
    return path
