"""From a record's kind and number to the page that shows it."""

from importlib import import_module

from refstd.tui.screens import LabScreen

_PAGES = {
    "item": ("refstd.tui.record", "RecordPage"),
    "check": ("refstd.tui.checkpage", "CheckPage"),
    "event": ("refstd.tui.eventpage", "EventPage"),
    "finding": ("refstd.tui.findingpage", "FindingPage"),
    "setup": ("refstd.tui.setuppage", "SetupPage"),
    "job": ("refstd.tui.jobpage", "JobPage"),
    "procedure": ("refstd.tui.procedurepage", "ProcedurePage"),
    "person": ("refstd.tui.custodian.person", "PersonPage"),
    "intervals": ("refstd.tui.custodian.intervals", "IntervalPage"),
    "comparison": ("refstd.tui.comparisonpage", "ComparisonPage"),
    "swap test": ("refstd.tui.technician.swap", "SwapPage"),
    "drift": ("refstd.tui.auditor.chart", "chart_named"),
    "suspect": ("refstd.tui.suspectspage", "EvidencePage"),
    "used": ("refstd.tui.reachpage", "WorkPage"),
    "page": ("refstd.tui.find", "page_named"),
}


def page_of(kind: str, number: str) -> LabScreen | None:
    """Return the page of a record, or None where a kind has no page of its own."""
    if kind not in _PAGES:
        return None
    module, name = _PAGES[kind]
    page: LabScreen = getattr(import_module(module), name)(number)
    return page


def swap_test_from(page: LabScreen, check: str) -> None:
    """Ask which notch of a check to follow, and open the swap test from it."""
    import_module("refstd.tui.technician.swap").choose_notch(page, check)


def open_what_follows(page: LabScreen, asset_no: str, number: str) -> None:
    """Open what follows from a certificate in force."""
    page.app.push_screen(import_module("refstd.tui.filedpage").FiledPage(asset_no, number))
