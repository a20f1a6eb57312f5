"""The pages behind the custodian's keys, loaded when they are asked for."""

from importlib import import_module

from refstd.tui.screens import LabScreen

_PAGES = {
    "materials": ("refstd.tui.custodian.materials", "MaterialsPage"),
    "due": ("refstd.tui.lists", "DuePage"),
    "recall": ("refstd.tui.custodian.recall", "RecallPage"),
    "checkin": ("refstd.tui.custodian.checkin", "CheckInPage"),
    "findings": ("refstd.tui.lists", "FindingsPage"),
    "procedures": ("refstd.tui.custodian.procedures", "ProceduresPage"),
    "people": ("refstd.tui.custodian.people", "PeoplePage"),
    "care": ("refstd.tui.care", "CarePage"),
    "swaps": ("refstd.tui.technician.swap", "SwapsPage"),
    "suspects": ("refstd.tui.suspectspage", "SuspectsPage"),
    "drift": ("refstd.tui.auditor.drift", "DriftPage"),
    "importing": ("refstd.tui.custodian.importing", "ImportPage"),
}


def named(name: str) -> LabScreen:
    """Return a page by its name."""
    module, page = _PAGES[name]
    made: LabScreen = getattr(import_module(module), page)()
    return made
