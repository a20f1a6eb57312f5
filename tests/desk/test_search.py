"""Finding by number or words."""

from pathlib import Path

import pytest

from refstd.desk.search import find
from refstd.desk.store import When, open_store
from tests.tui.busy_lab import TODAY, build

NOW = When(TODAY)


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("search") / "lab.refstd"
    build(path)
    return path


@pytest.mark.parametrize(
    ("words", "kind", "number"),
    [
        ("b-1", "item", "B-1"), ("J-1", "job", "J-1"), ("s-0001", "setup", "S-0001"), ("C-0027", "check", "C-0027"),
        ("f-0007", "finding", "F-0007"), ("pr-1", "procedure", "PR-1"), ("BLOCK three plate 3", "", ""),
        ("plate 3 block", "item", "B-3"), ("panels wing", "job", "J-1"),
    ],
)  # fmt: skip
def test_an_exact_number_comes_first_and_words_in_any_order_are_found(
    busy: Path, words: str, kind: str, number: str
) -> None:
    lab = open_store(busy)
    hits = find(lab, words, NOW)
    lab.close()
    assert (hits[0].kind, hits[0].number) == (kind, number) if kind else not hits


@pytest.mark.parametrize("words", ["", "  ", "%", "_", "\\", "'", "[/x]"])
def test_signs_that_mean_something_to_a_database_mean_nothing_here(busy: Path, words: str) -> None:
    lab = open_store(busy)
    hits = find(lab, words, NOW)
    lab.close()
    assert all(words in f"{h.number} {h.says}" for h in hits)
    assert words.strip() or not hits


def test_what_was_entered_later_is_not_found_in_the_past(busy: Path) -> None:
    from datetime import UTC, datetime

    lab = open_store(busy)
    hits = find(lab, "J-1", When(TODAY, as_at=datetime(2026, 1, 1, tzinfo=UTC)))
    lab.close()
    assert hits == ()
