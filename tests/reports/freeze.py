"""Write the golden sheets of the rules in force: python -m tests.reports.freeze

A folder belongs to one version of the rules. A sheet whose outcomes differ from the frozen ones is refused: a rule that
changes an outcome raises RULES_VERSION, and the new version gets a folder of its own.
"""

import argparse
import dataclasses
import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from refstd.printing import render
from refstd.printing.sheet import Sheet
from refstd.reports import REPORTS
from refstd.rules.version import RULES_VERSION
from tests import given
from tests.reports import small_lab

FOLDER = Path(__file__).parent / "golden" / f"rules-{RULES_VERSION}"
QUESTIONS: dict[str, dict[str, object]] = {
    "due": {},
    "drift": {},
    "suspects": {},
    "item": {"asset_no": "B-1"},
    "match": {"job": "J-2"},
    "traceability": {"job": "J-3"},
    "decisions": {},
    "equipment": {},
}
EXPLAINED = "explained"  # calculated advice decides nothing, so a change of it is no change of an outcome
OUTCOMES = {"state", "standing", "fits", "flagged", "weight", "rule", "outcome", "due_on", "named"}


def frozen(sheet: Sheet) -> str:
    """Return a sheet as JSON without its log hash, which differs from store to store: it holds the store's own UUID."""
    return render(dataclasses.replace(sheet, log_hash="(of this store)"), "json").decode()


def outcomes(member: object) -> Iterator[tuple[str, object]]:
    """Yield every outcome inside a sheet's JSON, in order."""
    if isinstance(member, dict):
        for name, value in member.items():
            if name in OUTCOMES and isinstance(value, str | int | None):
                yield name, value
            if name != EXPLAINED:
                yield from outcomes(value)
    elif isinstance(member, list):
        for value in member:
            yield from outcomes(value)


def main() -> None:
    argparse.ArgumentParser(prog="python -m tests.reports.freeze", description=__doc__).parse_args()
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        lab = given.new_lab(Path(folder) / "lab.refstd")
        small_lab.build(lab)
        for name, argument in QUESTIONS.items():
            new = frozen(REPORTS[name][1](lab, small_lab.ASKED, **argument))
            path = FOLDER / f"{name}.json"
            if path.exists() and list(outcomes(json.loads(path.read_text()))) != list(outcomes(json.loads(new))):
                sys.exit(f"{name}: an outcome changed. Raise RULES_VERSION, then freeze again.")
            path.write_text(new, encoding="utf-8")
        lab.close()


if __name__ == "__main__":
    main()
