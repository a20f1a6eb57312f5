"""A job from kit to release, by commands alone: every task can be done without the screens."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run, Said
from tests.cli.test_bad_input import HEADING, readings_file
from tests.given import KEEPER

KIT = ("B-1", "P-1", "I-1")


def scaled(factor: float) -> tuple[tuple[str, str, str], ...]:
    """Return the readings of the three notches with their vertical parts scaled."""
    return tuple(
        (n, h, str(round(v * factor)))
        for n, h, v in (("1.5 mm", "-20", 95), ("1.0 mm", "-18", 80), ("0.5 mm", "-12", 40))
    )


def members(said: Said) -> Any:
    """Return an answer in JSON."""
    return json.loads(said.out)


@pytest.fixture
def started(refstd: Run, tmp_path: Path) -> Run:
    """Commands on a store whose kit is out and whose start check was acceptable; a lot was examined."""
    assert refstd("checkout", "J-1", *KIT, "--as", "TESS").code == 0
    assert refstd("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS").code == 0
    assert refstd("lot", "J-1", "--start-check", "C-0001", "--parts", "holes 1 to 20", "--as", "TESS").code == 0
    return refstd


def test_an_acceptable_start_check_says_so_in_words_and_until_when_it_covers(refstd: Run, tmp_path: Path) -> None:
    said = refstd("check", "S-0001", readings_file(tmp_path), "--job", "J-1", "--as", "TESS")
    assert said.code == 0
    assert "\nacceptable\n" in said.out
    assert "covers: until 2031-03-1" in said.out
    assert "notch 1.0 mm" in said.out
    assert "procedure PR-1 issue B, 5.3" in said.out
    assert said.out.endswith("certified personnel decide.\n")


def test_a_failed_end_check_ends_with_1_and_says_what_is_held_and_whom_to_tell(started: Run, tmp_path: Path) -> None:
    """ISO 15549:2019, clause 10 (READ): what was examined since the previous successful check counts as not examined."""
    end = readings_file(tmp_path, scaled(0.8), occasion="end")
    said = started("check", "S-0001", end, "--job", "J-1", "--as", "TESS")
    assert said.code == 1
    assert "\nnot acceptable: notch 1.5 mm: amplitude too low\n" in said.out
    assert "limit ±10 % against the start check (procedure PR-1 issue B, 6.3)" in said.out
    assert "held:\n  setup S-0001\n  lot L-0001 (panel 4: holes 1-20)\n" in said.out
    assert "tell: the shift lead" in said.out
    assert "finding: F-0001" in said.out

    said = started("lookback", "F-0001")
    assert said.code == 1
    assert "check C-0001, the last acceptable one" in said.out
    assert "L-0001, job J-1, panel 4: holes 1-20, by TESS" in said.out
    assert members(started("lookback", "C-0002", "--json"))["rows"][0]["lot"] == "L-0001"
    assert started("status", *KIT).code == 1


def test_damage_looks_back_to_when_the_item_was_last_seen_sound(started: Run) -> None:
    """ISO/IEC 17025:2017, 6.4.9 and 7.10 (MEMORY): what defective equipment did to earlier work is looked at."""
    started("finding", "open", "--cause", "damage", "--item", "P-1", "--says", "tip found chipped", "--as", "TOM")
    answer = members(started("lookback", "F-0001", "--json"))
    assert answer["from_record"] == "check C-0001, the last acceptable one"
    assert [r["lot"] for r in answer["rows"]] == ["L-0001"]
    assert answer["held"] == ["P-1"]
    started("checkin", *KIT, "--as", "TESS")
    started("finding", "open", "--cause", "damage", "--item", "P-1", "--says", "chipped on the shelf", "--as", "TOM")
    answer = members(started("lookback", "F-0002", "--json"))
    assert answer["from_record"] == "came back sound"
    assert answer["rows"] == []
    started(
        "finding", "open", "--cause", "certificate", "--item", "B-1", "--says", "0.5 mm out of tolerance", "--as", "TOM"
    )
    said = started("lookback", "F-0003")
    assert "everything up to" in said.out
    assert "L-0001" in said.out


def test_a_finding_is_decided_and_released_by_someone_with_the_authority_who_did_not_check(
    started: Run, tmp_path: Path
) -> None:
    started("check", "S-0001", readings_file(tmp_path, scaled(0.8), occasion="end"), "--job", "J-1", "--as", "TESS")
    assert started("finding", "note", "F-0001", "--why", "cable looked at", "--as", "TESS").code == 0
    refused = started("finding", "release", "F-0001", "--why", "looks fine", "--as", "TESS")
    assert refused.code == 3
    assert "responsible level 3" in refused.err
    early = started("finding", "release", "F-0001", "--why", "re-examined", "--as", "LENA")
    assert (early.code, "Record the disposition of the lots first." in early.err) == (3, True)
    assert started("finding", "decide", "F-0001", "--why", "examine holes 1 to 20 again", "--as", "LENA").code == 0
    assert started("finding", "release", "F-0001", "--why", "examined again", "--as", "LENA").code == 0
    said = started("lookback", "F-0001")
    assert (said.code, "nothing is held any more" in said.out) == (0, True)


def test_readings_off_the_screen_where_a_value_is_needed_end_with_6(started: Run, tmp_path: Path) -> None:
    off = readings_file(
        tmp_path, (("1.5 mm", "", "FS"), ("1.0 mm", "-18", "80"), ("0.5 mm", "-12", "40")), occasion="interim"
    )
    said = started("check", "S-0001", off, "--job", "J-1", "--as", "TESS", "--json")
    assert said.code == 6
    assert members(said)["outcome"] == "not conclusive"


def test_a_repeat_after_a_remedy_is_kept_beside_the_first_set_and_judged(started: Run, tmp_path: Path) -> None:
    low = [f"1,interim,30,40,50,yes,yes,4,,,{n},{h},{v}" for n, h, v in scaled(0.7)]
    good = [f"2,interim,30,40,50,yes,yes,4,,connector cleaned,{n},{h},{v}" for n, h, v in scaled(1.0)]
    path = tmp_path / "both.csv"
    path.write_text("\n".join([HEADING, *low, *good]) + "\n")
    said = started("check", "S-0001", path, "--job", "J-1", "--as", "TESS")
    assert said.code == 0, said.err
    assert "repeats check C-0002; both are kept" in said.out


def test_a_preview_keeps_nothing_and_marks_what_looks_mistyped(started: Run, tmp_path: Path) -> None:
    path = readings_file(
        tmp_path, (("1.5 mm", "-20", "9.5"), ("1.0 mm", "-18", "80"), ("0.5 mm", "-12", "40")), occasion="interim"
    )
    said = started("check", "S-0001", path, "--job", "J-1", "--preview")
    assert said.code == 1
    assert "nothing was kept" in said.out
    assert "looks mistyped: notch 1.5 mm" in said.err
    assert "decimal point?" in said.err
    assert started("show", "C-0002").code == 3


def test_a_slip_of_the_pen_is_corrected_with_a_second_person(started: Run, tmp_path: Path) -> None:
    wrong = readings_file(
        tmp_path, (("1.5 mm", "-20", "9.5"), ("1.0 mm", "-18", "80"), ("0.5 mm", "-12", "40")), occasion="interim"
    )
    assert started("check", "S-0001", wrong, "--job", "J-1", "--as", "TESS").code == 1
    right = tmp_path / "right.csv"
    right.write_text("notch,horizontal,vertical\n1.5 mm,-20,95\n1.0 mm,-18,80\n0.5 mm,-12,40\n")
    alone = started(
        "correct", "check", "C-0002", right, "--second", "TESS", "--why", "9.5 typed for 95", "--as", "TESS"
    )
    assert alone.code == 3
    said = started("correct", "check", "C-0002", right, "--second", "TOM", "--why", "9.5 typed for 95", "--as", "TESS")
    assert said.code == 0, said.err
    assert "corrects check C-0002" in said.out
    with_settings = readings_file(tmp_path, occasion="interim")
    said = started("correct", "check", "C-0003", with_settings, "--second", "TOM", "--why", "x", "--as", "TESS")
    assert (said.code, "'rotation_deg' is not a column of this kind" in said.err) == (2, True)


def test_a_baseline_is_frozen_from_set_ups_and_the_drift_list_shows_it(refstd: Run, tmp_path: Path) -> None:
    lines = [
        f"{i},set-up,30,40,50,yes,yes,4,2031-03-14T09:{10 + i},,{n},{h},{v}"
        for i in (1, 2, 3)
        for n, h, v in scaled(1 + i / 100)
    ]
    path = tmp_path / "setups.csv"
    path.write_text("\n".join([HEADING, *lines]) + "\n")
    command = ["baseline", "S-0001", str(path), "--procedure", "PR-1", "--approved-by", "LENA", "--as", "TESS"]
    said = refstd(*command)
    assert said.code == 0, said.err
    assert said.out == "baseline of setup S-0001 from 3 set-ups: C-0001, C-0002, C-0003; approved by LENA\n"
    again = refstd(*command)
    assert (again.code, "It is replaced only with a reason: give it with --why." in again.err) == (3, True)
    rows = members(refstd("drift", "--json"))["rows"]
    assert {r["setup"] for r in rows} == {"S-0001"}
    assert {"setup", "notch", "deviation_db", "flagged"} <= set(rows[0])


def test_status_ends_with_0_5_or_1_and_gives_several_items_one_verdict_together(refstd: Run) -> None:
    said = refstd("status", "B-1", "P-1")
    assert said.code == 0
    assert "B-1: serviceable" in said.out
    assert "together: serviceable" in said.out
    refstd("state", "P-1", "quarantined", "--why", "tip chipped", "--as", "TESS")
    said = refstd("status", "B-1", "P-1")
    assert said.code == 1
    assert "P-1: do not use: P-1 is quarantined" in said.out
    assert "together: do not use" in said.out


def test_a_notch_out_of_its_tolerance_is_limited_use_and_ends_with_5(refstd: Run, tmp_path: Path) -> None:
    (tmp_path / "certificates.csv").write_text(
        "asset_no,number,laboratory,performed_on,decision_rule\nB-1,K-2,a laboratory,2031-03-01,simple\n"
    )
    (tmp_path / "values.csv").write_text(
        "asset_no,certificate,notch,value,expanded_uncertainty,coverage_factor,lower_limit,upper_limit,limit_source\n"
        "B-1,K-2,0.5 mm,0.580,0.010,2,0.45,0.55,drawing 7\n"
    )
    assert (
        refstd("add", "certificates", tmp_path / "certificates.csv", tmp_path / "values.csv", "--as", KEEPER).code == 0
    )
    said = refstd("status", "B-1", "--json")
    assert said.code == 5
    [verdict] = members(said)["verdicts"]
    assert verdict["standing"] == "limited use"
    reason = verdict["reasons"][0]
    assert set(reason) >= {"rule", "says", "figure", "limit", "source", "record", "cure"}
    assert "0.580 mm" in reason["figure"]


def test_matching_gives_kits_and_what_was_rejected_with_a_cure(refstd: Run) -> None:
    said = refstd("match", "J-1", "--json")
    assert said.code == 0
    answer = members(said)
    assert answer["schema"] == "refstd.match/1"
    assert any(set(kit["asset_nos"]) == set(KIT) for kit in answer["kits"])
    refstd("state", "P-1", "quarantined", "--why", "tip chipped", "--as", "TESS")
    said = refstd("match", "J-1", "--json")
    assert said.code == 1
    answer = members(said)
    assert answer["kits"] == []
    [probe] = [r for r in answer["rejected"] if r["asset_nos"] == ["P-1"]]
    assert any(reason["cure"] for reason in probe["reasons"])


def test_every_list_answers_as_text_and_as_json(started: Run) -> None:
    for kind in ("blocks", "probes", "instruments", "accessories", "materials", "people", "procedures", "jobs", "setups", "checks",
                 "lots", "findings", "out"):  # fmt: skip
        text, answer = started("list", kind), started("list", kind, "--json")
        assert (text.code, answer.code) == (0, 0)
        assert {"schema", "as_at", "log_sequence", "rows"} <= set(members(answer))
    assert {r["asset_no"] for r in members(started("list", "out", "--json"))["rows"]} == set(KIT)
    started("checkin", *KIT, "--as", "TESS")
    assert members(started("list", "out", "--json"))["rows"] == []


def test_any_number_can_be_shown(started: Run) -> None:
    for number, word in (("b-1", "Record of B-1"), ("J-1", "panel 4"), ("S-0001", "horizontal and vertical"), ("C-0001", "acceptable"),
                         ("PR-1", "surface cracks"), ("L-0001", "panel 4: holes 1-20"), ("TESS", "technician"), ("AL", "aluminium alloy")):  # fmt: skip
        said = started("show", number)
        assert said.code == 0, said.err
        assert word in said.out


def test_an_answer_as_at_a_past_instant_is_the_answer_of_then(refstd: Run) -> None:
    before = refstd("status", "P-1", "--json", "--as-at", "2031-03-14T12:30")
    refstd("state", "P-1", "quarantined", "--why", "tip worn", "--as", KEEPER)
    assert refstd("status", "P-1").code == 1
    assert refstd("status", "P-1", "--json", "--as-at", "2031-03-14T12:30") == before


def test_due_is_judged_on_the_day_asked_for(refstd: Run) -> None:
    assert members(refstd("due", "--within", "30", "--json"))["rows"] == []
    rows = members(refstd("due", "--json", "--today", "2032-02-01"))["rows"]
    assert [(r["asset_no"], r["due_on"], r["state"]) for r in rows] == [
        ("B-1", "2032-01-10", "overdue"), ("I-1", "2032-01-10", "overdue"),
    ]  # fmt: skip


def test_what_came_back_not_sound_is_held_by_a_finding(started: Run) -> None:
    missing = started("checkin", "P-1", "--not-sound", "--as", "TESS")
    assert (missing.code, "Say in which condition the items came back." in missing.err) == (3, True)
    said = started("checkin", "P-1", "--not-sound", "--condition", "tip worn flat", "--as", "TESS")
    assert said.code == 0
    assert "finding F-0001 holds it" in said.out
    assert started("status", "P-1").code == 1


@pytest.mark.parametrize("ending", ["pdf", "csv", "json", "txt"])
def test_a_report_is_written_in_the_form_of_its_ending(refstd: Run, tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"due.{ending}"
    said = refstd("report", "due", "-o", path)
    assert said.code == 0
    assert path.read_bytes().startswith(
        {"pdf": b"%PDF-", "csv": b"asset_no,", "json": b"{", "txt": b"Due list"}[ending]
    )
    assert not list(tmp_path.glob("*.partial"))


def test_an_issued_report_is_known_by_its_hash_and_a_refused_one_leaves_no_file(refstd: Run, tmp_path: Path) -> None:
    path = tmp_path / "register.csv"
    refused = refstd("report", "register", "-o", path, "--issue", "--as", "TESS")
    assert refused.code == 3
    assert list(tmp_path.glob("register*")) == []
    said = refstd("report", "register", "-o", path, "--issue", "--as", KEEPER)
    assert said.code == 0
    digest = said.out.split()[-1]
    [row] = members(refstd("report", "issued", "--json"))["rows"]
    assert (row["name"], row["sha256"]) == ("register.csv", digest)


def test_a_person_and_an_item_are_described_anew_with_a_reason(refstd: Run, tmp_path: Path) -> None:
    assert refstd("correct", "person", "TOM", "--inactive", "--why", "left", "--as", KEEPER).code == 0
    said = refstd("checkout", "J-1", "P-1", "--as", "TOM")
    assert (said.code, "no longer works here" in said.err) == (3, True)
    probes = tmp_path / "probes.csv"
    probes.write_text(
        "asset_no,name,form,circuit,coils,lowest_khz,highest_khz,connector\nP-1,pencil long,pencil,bridge,absolute,50,300,four-pin\n"
    )
    assert refstd("correct", "item", "probes", probes, "--why", "label read anew", "--as", KEEPER).code == 0
    assert "pencil long" in refstd("list", "probes").out


def test_a_certificate_is_corrected_and_withdrawn_with_a_reason(refstd: Run, tmp_path: Path) -> None:
    path = tmp_path / "certificates.csv"
    path.write_text("asset_no,number,laboratory,performed_on\nB-1,K-B-1,a laboratory,2031-01-12\n")
    said = refstd("correct", "certificate", path, "--supersedes", "K-B-1", "--why", "date misread", "--as", KEEPER)
    assert said.code == 0, said.err
    rows = members(refstd("due", "--json"))["rows"]
    assert [r["due_on"] for r in rows if r["asset_no"] == "B-1"] == ["2032-01-12"]
    assert refstd("correct", "withdraw", "B-1", "K-B-1", "--why", "recalled", "--as", KEEPER).code == 0
    rows = members(refstd("due", "--json"))["rows"]
    assert [r["state"] for r in rows if r["asset_no"] == "B-1"] == ["never done"]


def test_a_certificates_paper_is_kept_and_comes_out_as_it_went_in(refstd: Run, tmp_path: Path) -> None:
    path = tmp_path / "certificates.csv"
    path.write_text("asset_no,number,laboratory,performed_on\nP-1,K-9,a laboratory,2031-02-12\n")
    scan = tmp_path / "scan.pdf"
    scan.write_bytes(b"%PDF-1.4\n% a scanned certificate\n")
    assert refstd("paper", "P-1", "K-9", "-o", tmp_path / "out.pdf").code == 3
    assert refstd("add", "certificates", path, "--paper", scan, "--as", KEEPER).code == 0
    assert refstd("paper", "P-1", "k-9", "-o", tmp_path / "out.pdf").code == 0
    assert (tmp_path / "out.pdf").read_bytes() == scan.read_bytes()
    (tmp_path / "page.html").write_text("<html>")
    again = tmp_path / "again.csv"
    again.write_text(path.read_text().replace("K-9", "K-10"))
    refused = refstd("add", "certificates", again, "--paper", tmp_path / "page.html", "--as", KEEPER)
    assert (refused.code, "the paper is not a PDF, PNG, JPEG or XML file (page.html)" in refused.err) == (3, True)
    assert refstd("add", "probes", path, "--paper", scan, "--as", KEEPER).code == 2


def test_records_are_found_by_words_and_the_log_is_read_newest_first(started: Run) -> None:
    said = started("find", "pencil")
    assert (said.code, said.out.startswith("item P-1: ")) == (0, True)
    assert started("find", "nothing-of-this-name").code == 1
    rows = members(started("log", "--count", "3", "--json"))["rows"]
    assert [r["action"] for r in rows] == ["examined lot logged", "response check recorded", "checked out"]
    assert rows[0]["previous"] == rows[1]["hash"]
    assert started("log", "--count", "1").out.startswith(f"{rows[0]['sequence']}  2031-03-15 ")


def test_the_columns_of_every_kind_of_file_can_be_asked_for(refstd: Run, tmp_path: Path) -> None:
    refstd("export", tmp_path / "all")
    for kind in ("materials", "people", "authorities", "blocks", "notches", "probes", "instruments", "accessories", "schedules",
                 "certificates", "values", "procedures", "limits", "targets", "named", "families", "jobs", "setups"):  # fmt: skip
        said = refstd("import", "--columns", kind)
        assert said.code == 0
        heading = (tmp_path / "all" / f"{kind}.csv").read_text(encoding="utf-8").splitlines()[0]
        assert said.out.splitlines()[1] == heading
        assert [line.split(":")[0].strip() for line in said.out.splitlines()[2:]] == heading.split(",")
    assert "form: needed; one of plate, edge, radius" in refstd("import", "--columns", "blocks").out
    assert refstd("import").code == 2


def test_an_export_never_overwrites_a_file(refstd: Run, tmp_path: Path) -> None:
    folder = tmp_path / "all"
    assert refstd("export", folder).code == 0
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    again = refstd("export", folder)
    assert (again.code, "are there already" in again.err, "Name a new folder." in again.err) == (2, True, True)
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before


def test_a_paper_in_hand_is_the_one_issued_or_it_is_not(refstd: Run, tmp_path: Path) -> None:
    """Planted bug: one figure of the copy changed."""
    path = tmp_path / "register.csv"
    assert refstd("report", "register", "-o", path, "--issue", "--as", KEEPER).code == 0
    copy = tmp_path / "from the customer.csv"
    copy.write_bytes(path.read_bytes())
    said = refstd("verify", "--paper", copy)
    assert (said.code, "issued as register.csv" in said.out) == (0, True)
    copy.write_bytes(path.read_bytes().replace(b"B-1", b"B-7", 1))
    assert refstd("verify", "--paper", copy).code == 1
    assert members(refstd("verify", "--paper", copy, "--json"))["issued"] is False
    assert refstd("verify", "--paper", tmp_path / "missing.pdf").code == 2


def test_a_job_file_is_written_whole_or_refused(refstd: Run, tmp_path: Path) -> None:
    import zipfile

    path = tmp_path / "J-1.zip"
    said = refstd("job-file", "J-1", "-o", path, "--issue", "--as", KEEPER)
    assert said.code == 0, said.err
    assert zipfile.ZipFile(path).namelist()[0] == "index.html"
    assert refstd("verify", "--paper", path).code == 0
    assert refstd("job-file", "-o", path).code == 2
    assert refstd("job-file", "J-1", "-o", tmp_path / "J-1.pdf").code == 2
    assert refstd("job-file", "--from", "2001-01-01", "--to", "2001-01-02", "-o", tmp_path / "x.zip").code == 3
