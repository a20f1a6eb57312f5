"""An auditor's questions, and every list: each returns one Sheet, as at any instant.

`REPORTS` and `LISTS` name them for commands and screens: name → (title, function, name of its argument or '').
A function takes (lab, when) and that argument by its name.
"""

from collections.abc import Callable
from typing import Any

from refstd.printing.sheet import Sheet
from refstd.reports.audit import decisions_sheet, equipment_sheet, traceability_sheet
from refstd.reports.check import check_sheet
from refstd.reports.clauses import clauses_sheet
from refstd.reports.comparisons import comparisons_sheet
from refstd.reports.custody import custody_sheet
from refstd.reports.drift import drift_sheet
from refstd.reports.due import due_sheet
from refstd.reports.findings import findings_sheet
from refstd.reports.intervals import intervals_sheet, reviews_sheet
from refstd.reports.item import item_sheet
from refstd.reports.job import job_sheet
from refstd.reports.kit import kit_sheet
from refstd.reports.lists import (
    checks_sheet,
    deferrals_sheet,
    issued_sheet,
    jobs_sheet,
    lots_sheet,
    materials_sheet,
    procedures_sheet,
    setups_sheet,
    tolerances_sheet,
)
from refstd.reports.match import match_sheet
from refstd.reports.people import people_sheet, qualifications_sheet, vision_tests_sheet
from refstd.reports.reach import lookback_sheet
from refstd.reports.recall import recall_sheet
from refstd.reports.register import register_sheet
from refstd.reports.reservations import reservations_sheet, shortages_sheet
from refstd.reports.status import status_sheet
from refstd.reports.suspects import suspects_sheet
from refstd.reports.swaps import swaps_sheet

Question = tuple[str, Callable[..., Sheet], str]

REPORTS: dict[str, Question] = {
    "due": ("Due list", due_sheet, "within_days"),
    "recall": ("Calibration recall", recall_sheet, "months"),
    "drift": ("Drift of responses", drift_sheet, "setup"),
    "suspects": ("What moved", suspects_sheet, ""),
    "swaps": ("Swap tests", swaps_sheet, "number"),
    "comparisons": ("Comparisons of blocks", comparisons_sheet, "number"),
    "intervals": ("Proposed intervals", intervals_sheet, "item"),
    "register": ("Register", register_sheet, "kind"),
    "item": ("Record of an item", item_sheet, "asset_no"),
    "job": ("A job by part and hole", job_sheet, "job"),
    "match": ("Equipment for a job", match_sheet, "job"),
    "kit": ("Kit sheet", kit_sheet, "about"),
    "lookback": ("Where an item was used, what a job rested on", lookback_sheet, "about"),
    "traceability": ("What a job traces to", traceability_sheet, "job"),
    "decisions": ("Decisions by authority", decisions_sheet, "between"),
    "equipment": ("Equipment by material and form", equipment_sheet, "words"),
    "status": ("Serviceability", status_sheet, "asset_nos"),
    "check": ("A response check", check_sheet, "number"),
    "custody": ("Custody", custody_sheet, "asset_nos"),
    "shortages": ("Shortages ahead", shortages_sheet, ""),
    "findings": ("Findings", findings_sheet, "only_open"),
    "checks": ("Response checks", checks_sheet, "setup"),
    "clauses": ("Clauses, and where to see what they ask", clauses_sheet, ""),
    "issued": ("Issued reports", issued_sheet, ""),
}


def _of_kind(kind: str) -> Callable[..., Sheet]:
    def sheet(lab: Any, when: Any) -> Sheet:
        return register_sheet(lab, when, kind)

    return sheet


LISTS: dict[str, Question] = {
    "blocks": ("Reference blocks", _of_kind("block"), ""),
    "probes": ("Probes", _of_kind("probe"), ""),
    "instruments": ("Instruments", _of_kind("instrument"), ""),
    "accessories": ("Accessories", _of_kind("accessory"), ""),
    "materials": ("Materials", materials_sheet, ""),
    "people": ("People", people_sheet, ""),
    "qualifications": ("Qualifications", qualifications_sheet, ""),
    "vision_tests": ("Tests of vision", vision_tests_sheet, ""),
    "procedures": ("Procedures", procedures_sheet, ""),
    "jobs": ("Jobs", jobs_sheet, ""),
    "setups": ("Setups", setups_sheet, ""),
    "checks": ("Response checks", checks_sheet, "setup"),
    "lots": ("Examined lots", lots_sheet, "job"),
    "findings": ("Findings", findings_sheet, "only_open"),
    "swaps": ("Swap tests", swaps_sheet, "number"),
    "comparisons": ("Comparisons of blocks", comparisons_sheet, "number"),
    "tolerances": ("Tolerances", tolerances_sheet, ""),
    "deferrals": ("Deferred due dates", deferrals_sheet, ""),
    "reviews": ("Reviewed intervals", reviews_sheet, ""),
    "reservations": ("Reservations", reservations_sheet, ""),
    "out": ("Custody", custody_sheet, ""),
}
__all__ = [
    "LISTS",
    "REPORTS",
    "Question",
    "check_sheet",
    "checks_sheet",
    "clauses_sheet",
    "comparisons_sheet",
    "custody_sheet",
    "decisions_sheet",
    "deferrals_sheet",
    "drift_sheet",
    "due_sheet",
    "equipment_sheet",
    "findings_sheet",
    "intervals_sheet",
    "issued_sheet",
    "item_sheet",
    "job_sheet",
    "jobs_sheet",
    "kit_sheet",
    "lookback_sheet",
    "lots_sheet",
    "match_sheet",
    "materials_sheet",
    "people_sheet",
    "procedures_sheet",
    "qualifications_sheet",
    "recall_sheet",
    "register_sheet",
    "reservations_sheet",
    "reviews_sheet",
    "setups_sheet",
    "shortages_sheet",
    "status_sheet",
    "suspects_sheet",
    "swaps_sheet",
    "tolerances_sheet",
    "traceability_sheet",
    "vision_tests_sheet",
]
