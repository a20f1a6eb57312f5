"""The four main reports on the small lab, word for word as frozen for the rules in force.

Our own drawing, not an outside value: it holds wording, order and outcomes still. A changed outcome without a raised
RULES_VERSION cannot be frozen (tests/reports/freeze.py).
"""

import json

import pytest

from refstd.desk.store import Lab
from refstd.reports import REPORTS
from tests.reports import freeze, small_lab


@pytest.mark.parametrize("name", freeze.QUESTIONS)
def test_a_report_reads_as_frozen_for_the_rules_in_force(small: Lab, name: str) -> None:
    """Planted: 'not yet overdue on the due day' turned into 'overdue on the due day'; the due list differed."""
    assert freeze.FOLDER.is_dir(), "RULES_VERSION was raised: freeze its sheets with python -m tests.reports.freeze"
    sheet = REPORTS[name][1](small, small_lab.ASKED, **freeze.QUESTIONS[name])
    assert freeze.frozen(sheet) == (freeze.FOLDER / f"{name}.json").read_text(encoding="utf-8")


def test_the_frozen_sheets_show_every_outcome_that_the_rules_know() -> None:
    """A golden sheet that shows only 'serviceable' would let a changed rule pass."""
    shown = {
        (outcome, value)
        for name in freeze.QUESTIONS
        for outcome, value in freeze.outcomes(json.loads((freeze.FOLDER / f"{name}.json").read_text(encoding="utf-8")))
    }
    for outcome, values in {
        "state": {"never done", "overdue", "before use", "due soon", "deferred", "not due"},
        "standing": {"serviceable", "limited use", "do not use"},
        "fits": {"yes", "no"},
        "flagged": {"yes"},
        "weight": {"stops", "limits", "advises", "supports"},
        "rule": {
            *("state", "due", "due during the job", "conformity", "finding", "setup hold", "custody", "material"),
            *("deferral", "frequency", "form", "named by the procedure", "conductivity", "schedule", "unproved"),
        },
    }.items():
        assert values <= {value for name, value in shown if name == outcome}, outcome
