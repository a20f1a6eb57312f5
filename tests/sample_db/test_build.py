"""The sample lab is the same lab each time, is whole, and was told through the front door only."""

import ast
import io
import os
from collections import Counter
from datetime import date
from pathlib import Path

import pypdf

import sample_db
from refstd.desk import checks, findings, items, jobs, procedures, setups, store
from refstd.desk.certificates import paper_bytes
from refstd.desk.history import item_record
from refstd.desk.store import Lab, When
from sample_db.paper import pdf
from sample_db.telling import ZONE


def test_two_builds_have_the_same_log_to_the_last_hash(sample: Path, tmp_path: Path) -> None:
    """REFSTD_SAMPLE_AGAIN names a second one, as CI does: that of the installed wheel.

    Planted bug that it caught: a baseline made under a random operation id.
    """
    built = os.environ.get("REFSTD_SAMPLE_AGAIN", "")
    again = Path(built) if built else sample_db.build(tmp_path / "again.refstd")
    assert store.verify(again, deep=False).head == store.verify(sample, deep=False).head


def test_the_sample_verifies_deeply(sample: Path) -> None:
    assert store.verify(sample, deep=True).problems == ()


def test_it_lives_on_its_story_day_and_nothing_in_it_is_later(opened: Lab, now: When) -> None:
    assert now.now.astimezone(ZONE).date() == sample_db.STORY_DAY == date(2026, 3, 9)
    about = store.about(opened, now)
    assert about.head.recorded_at < "2026-03-09"


def test_it_has_the_equipment_of_a_small_lab(opened: Lab, now: When) -> None:
    kinds = Counter(item.kind for item in items.register(opened, now))
    assert kinds == {"block": 20, "probe": 40, "instrument": 8, "accessory": 10}
    states = {item.state for item in items.register(opened, now)}
    assert {"in service", "awaiting receipt", "quarantined", "in repair", "away at laboratory"} <= states


def test_no_item_is_numbered_like_a_check_or_anything_else_that_the_program_numbers(opened: Lab, now: When) -> None:
    """Planted bug it caught: a cable C-401 beside a check C-0401."""
    running = {n.split("-")[0] for n in (
        *(c.number for c in checks.checks(opened, now)), *(s.number for s in setups.setups(opened, now)),
        *(f.number for f in findings.findings(opened, now)), *(x.number for x in jobs.lots(opened, now)),
    )}  # fmt: skip
    assert running == {"C", "S", "F", "L"}
    assert not running & {i.asset_no.split("-")[0] for i in items.register(opened, now)}


def test_two_years_of_checks_on_at_least_three_notches(opened: Lab, now: When) -> None:
    kept = [c for c in checks.checks(opened, now) if c.occasion != "set-up"]
    assert len(kept) >= 600
    assert {c.outcome for c in kept} == {"acceptable", "not acceptable", "not conclusive"}
    for setup in setups.setups(opened, now):
        mine = checks.checks(opened, now, setup=setup.number)
        _, picture = checks.check_shown(opened, mine[0].number, now)
        assert len(picture.series[-1].points) >= 3, setup


def test_procedures_limit_in_every_unit_and_against_everything(opened: Lab, now: When) -> None:
    limits = [limit for p in procedures.procedures(opened, now) for limit in p.limits]
    assert {x.unit for x in limits} == {"%", "% FSH", "div", "dB", "°", "ratio"}
    assert {x.against for x in limits} == {"none", "target", "start check", "baseline"}
    assert {x.quantity for x in limits} == {"amplitude", "phase", "signal to noise"}
    assert all(x.paragraph for x in limits)


def test_corrections_stay_on_record_beside_what_they_correct(opened: Lab, now: When) -> None:
    block = item_record(opened, "B-103", now)
    corrected = {c.number: c.in_force for c in block.certificates if c.activity == "calibration"}
    assert corrected["HM-23-1030"] is False
    assert corrected["HM-23-1030A"] is True
    withdrawn = item_record(opened, "B-112", now)
    assert not any(c.in_force for c in withdrawn.certificates if c.number == "CMP-24-1121X")


def test_a_certificate_brings_its_paper_and_an_independent_reader_reads_it(opened: Lab, now: When) -> None:
    """Read by pypdf, which did not write it (PDF 1.4: ISO 32000-1 is its published successor)."""
    certificate = next(c for c in item_record(opened, "B-102", now).certificates if c.paper_sha256)
    name, content = paper_bytes(opened, certificate.paper_sha256, now)
    assert name == f"{certificate.number}.pdf"
    reader = pypdf.PdfReader(io.BytesIO(content), strict=True)
    words = reader.pages[0].extract_text()
    assert certificate.number in words
    assert "Item B-102" in words
    for value in certificate.values:
        assert f"{value.value} mm" in words


def test_a_line_with_brackets_and_a_backslash_survives_the_paper() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf([r"U (k = 2) \ µm"])), strict=True)
    assert reader.pages[0].extract_text().strip() == r"U (k = 2) \ µm"


def test_everything_went_through_the_front_door() -> None:
    """Planted bug that it caught: a story that imported refstd.register.custody to backdate a loan."""
    allowed = ("refstd.desk", "refstd.eddy")
    for path in Path(sample_db.__file__).parent.rglob("*.py"):
        if path.stem == "draw_pictures":  # looks at the finished lab through the screens
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and not node.level:
                names.append(node.module or "")
            for name in names:
                assert not name.startswith(("sqlalchemy", "sqlite3")), (path, name)
                assert not name.startswith("refstd") or name.startswith(allowed), (path, name)
