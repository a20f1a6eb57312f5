"""The passage of the developers' guide on the library runs as it is printed."""

import doctest
from pathlib import Path


def test_the_passage_runs_as_printed() -> None:
    """Caught: a depth that was printed for another frequency. Every line of the passage is run, so an empty one is seen."""
    guide = Path(__file__).parents[2] / "DEVELOPERS.md"
    failed, tried = doctest.testfile(str(guide), module_relative=False, encoding="utf-8")
    assert failed == 0
    assert tried >= 6
