"""From a record's kind and number to the page that shows it."""

from importlib import import_module

from refstd.tui.screens import LabScreen

_PAGES = {
    "item": ("refstd.tui.record", "RecordPage"),
    "check": ("refstd.tui.checkpage", "CheckPage"),
    "finding": ("refstd.tui.findingpage", "FindingPage"),
    "setup": ("refstd.tui.setuppage", "SetupPage"),
    "job": ("refstd.tui.jobpage", "JobPage"),
    "procedure": ("refstd.tui.procedurepage", "ProcedurePage"),
    "swap test": ("refstd.tui.technician.swap", "SwapPage"),
    "drift": ("refstd.tui.auditor.chart", "chart_named"),
    "suspect": ("refstd.tui.suspectspage", "EvidencePage"),
    "page": ("refstd.tui.find", "page_named"),
}


def has_page(kind: str) -> bool:
    """Return whether records of a kind have a page of their own."""
    return kind in _PAGES


def page_of(kind: str, number: str) -> LabScreen | None:
    """Return the page of a record, or None where a kind has no page of its own."""
    if kind not in _PAGES:
        return None
    module, name = _PAGES[kind]
    page: LabScreen = getattr(import_module(module), name)(number)
    return page
