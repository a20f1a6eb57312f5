"""Each story of the sample lab was sealed before it was told: what must be found, and who must not be blamed.

Asked by the command line's own JSON, as an auditor would. The demo is an invented scenario: these tests show that the
rules find what was put there, not that the rules are right (tests/rules and tests/metrology hold them to published values).
"""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

import sample_db
from refstd.cli import run_command

FOLDER = Path(sample_db.__file__).parent / "stories"
SEALED = [
    pytest.param(kind, expected, id=f"{path.stem}: {kind} {number}")
    for path in sorted(FOLDER.glob("*.toml"))
    for kind in ("flagged", "innocent")
    for number, expected in enumerate(tomllib.loads(path.read_text(encoding="utf-8")).get(kind, []), start=1)
]


def asked(store: Path, words: list[str], capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    """Return the rows that a command answers as JSON."""
    run_command([*words, "--json", "--db", str(store)])
    rows: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["rows"]
    return rows


@pytest.mark.parametrize(("kind", "expected"), SEALED)
def test_what_was_sealed_is_what_the_commands_say(
    sample: Path, kind: str, expected: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    """Planted bugs that it caught: drift flagged on a single check beyond the limits blamed an innocent notch (S-0002,
    0.5 mm) before any story was told."""
    rows = [
        row
        for row in asked(sample, expected["ask"], capsys)
        if all(row[name] in allowed for name, allowed in expected["where"].items())
    ]
    assert len(rows) == expected["count"], [list(row.values())[:4] for row in rows]
    for row in rows:
        for name, words in expected["says"].items():
            assert words in str(row[name]), (kind, row)


def test_every_story_says_what_must_and_what_must_not_be_found() -> None:
    names = {path.stem for path in FOLDER.glob("*.toml")}
    assert {"worn_pencil", "dropped_block", "stepped_gain", "lapsing_certificates", "late_kit"} <= names
    for path in FOLDER.glob("*.toml"):
        sealed = tomllib.loads(path.read_text(encoding="utf-8"))
        assert sealed["flagged"], path
        assert sealed["innocent"], path
