"""The record of an item against ISO/IEC 17025:2017, 6.4.13 a–h (a–f READ, g–h READ as paraphrase), clause by clause."""

from datetime import timedelta

import pytest

from refstd.desk import equipment
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from refstd.desk.tolerances import ToleranceDraft, set_tolerance
from refstd.printing.sheet import Sheet
from refstd.reports import item_sheet
from tests.given import KEEPER
from tests.reports import small_lab

AFTER = small_lab.LATER + timedelta(hours=2)
# clause, what the clause asks for, item, what the line is called, what must stand in the line
CLAUSES = [
    ("a", "which item it is", "I-2", "asset number", "I-2"),
    ("a", "software and firmware version", "I-2", "software and firmware version", "2.1"),
    ("b", "maker", "B-3", "made by", "the lab's own workshop"),
    ("b", "type", "B-3", "part number (type)", "TB-3"),
    ("b", "serial number", "B-2", "serial number", "0021"),
    ("c", "verified against the stated requirements", "B-2", "verdict", "limited use, without notch 0.5 mm"),
    ("c", "the check that shows it", "I-1", "response check", "end check C-0016 on S-0001: not acceptable"),
    ("d", "where it is now", "B-2", "location", "cabinet 1"),
    ("d", "where it is now, lent", "B-1", "loan", "to TESS for job J-3, due back 2031-07-04"),
    ("e", "date of calibration", "B-1", "calibration certificate", "2031-01-10"),
    (
        "e",
        "result as found",
        "B-1",
        "depth of notch 0.5 mm, as found",
        "0.531 mm 0.010 2.00 0.450 to 0.550 mm drawing 7",
    ),
    ("e", "result as left", "B-1", "depth of notch 0.5 mm, as left", "0.510 mm 0.010 2.00 0.450 to 0.550 mm drawing 7"),
    ("e", "adjustment", "B-1", "adjustment", "burr removed"),
    ("e", "acceptance criterion", "B-1", "decision rule", "iso 14253-1"),
    (
        "e",
        "acceptance criterion of the lab",
        "B-2",
        "acceptance criterion, notch 1.0 mm, depth",
        "no decision rule named 0.95 to 1.05 mm drawing 7",
    ),
    ("e", "next due date and interval", "I-2", "calibration schedule", "every 12 months; next due 2031-06-10"),
    ("e", "traceability", "B-1", "traceability", "step height standard 3, certificate S-7"),
    ("e", "the paper itself", "B-1", "paper", "certificate.pdf, SHA-256"),
    ("f", "reference material and its source", "B-1", "material", "AL (aluminium alloy, non-magnetic) test value"),
    ("f", "its property", "B-1", "conductivity", "32 %IACS test value"),
    ("f", "its notches", "B-1", "notch 1.5 mm, as described", "1.5 mm deep; EDM, face"),
    ("f", "period of validity", "B-1", "calibration valid to", "2032-01-10"),
    ("g", "maintenance plan", "P-3", "inspection schedule", "every 90 days; never done"),
    ("g", "maintenance done", "B-1", "adjustment", "burr removed"),
    ("h", "damage", "P-1", "finding (damage)", "came back not sound: tip worn"),
    ("h", "damage as returned", "P-1", "came back not sound", "tip worn"),
    ("h", "malfunction", "I-1", "finding (failed job check)", "end check C-0016"),
    ("h", "what was done about it", "I-1", "done about it", "disposition by LENA (responsible level 3)"),
    ("h", "modification", "I-2", "modification", "revision 2: new amplifier fitted"),
    ("h", "repair", "I-2", "state", "in repair: display dim"),
]


@pytest.fixture
def repaired(small: Lab) -> Lab:
    """The small lab, with an instrument that was repaired and modified."""
    equipment.set_state(small, "I-2", "in repair", "display dim", by=KEEPER, now=AFTER)
    fields = {"asset_no": "I-2", "name": "instrument", "lowest_khz": "10", "highest_khz": "10000", "serial_no": "700"}
    fields |= {"connector": "four-pin", "display_order": "rotate-then-scale", "firmware": "2.1"}
    revised = draft(equipment.InstrumentDraft, fields, "I-2")
    equipment.revise_item(small, revised, "new amplifier fitted", by=KEEPER, now=AFTER)
    allowed = {
        "asset_no": "B-2",
        "notch": "1.0 mm",
        "lower_limit": "0.95",
        "upper_limit": "1.05",
        "source": "drawing 7",
    }
    set_tolerance(small, draft(ToleranceDraft, allowed, "tolerance"), by=KEEPER, now=AFTER)
    return small


def lines(sheet: Sheet, clause: str) -> list[tuple[str, str]]:
    """Return (what, all other cells) of a clause's lines."""
    return [(row[1], " ".join(c for c in row[2:] if c)) for row in sheet.rows if row[0] == clause]


@pytest.mark.parametrize(("clause", "asked", "item", "what", "says"), CLAUSES)
def test_what_the_clause_asks_for_is_found_under_its_letter(
    repaired: Lab, clause: str, asked: str, item: str, what: str, says: str
) -> None:
    """Planted: clause h left empty; its six lines failed."""
    found = lines(item_sheet(repaired, When(AFTER), item), f"6.4.13 {clause}")
    assert any(name == what and says in rest for name, rest in found), (asked, found)


@pytest.mark.parametrize("item", ["A-1", "B-1", "B-3", "I-3", "P-1", "P-2"])
def test_every_clause_is_answered_in_order_if_only_by_nothing_on_record(repaired: Lab, item: str) -> None:
    sheet = item_sheet(repaired, When(AFTER), item)
    order = list(dict.fromkeys(row[0] for row in sheet.rows))
    assert order == [*(f"6.4.13 {letter}" for letter in "abcdefgh"), "7.8.6", "7.5.1"]


def test_every_event_names_when_it_happened_who_recorded_it_and_in_which_log_entry(repaired: Lab) -> None:
    """ISO/IEC 17025:2017, 7.5.1 (READ): the date, and who did it; 7.5.2 (READ): both old and new are kept."""
    sheet = item_sheet(repaired, When(AFTER), "B-1")
    where = {c.key: n for n, c in enumerate(sheet.columns)}
    events = [row for row in sheet.rows if row[0] == "7.5.1"]
    assert len(events) > 20
    for row in events:
        assert row[where["on"]]
        assert row[where["by"]] in ("KEEPER", "TESS", "LENA")
        assert 0 < int(row[where["entry"]]) <= sheet.log_sequence
    stands = {row[where["value"]]: row[where["stands"]] for row in events if row[where["what"]] == "certificate"}
    assert sorted(stands.values()) == ["", "superseded"]


def test_a_statement_of_conformity_names_the_value_the_rule_who_named_it_and_its_risk(repaired: Lab) -> None:
    """ISO/IEC 17025:2017, 7.8.6 (READ): to which results it applies, which limits, which rule. Planted: rule left out."""
    found = dict(lines(item_sheet(repaired, When(AFTER), "B-1"), "7.8.6"))
    says = found["depth of notch 0.5 mm, as left"]
    for part in (
        "0.510 mm", "pass by the rule 'iso 14253-1' (certificate", "limits 0.450 to 0.550 mm (drawing 7)",
        "probability of conformity above 99.9 %", "risk of a false pass at most 4.9 % at each limit",
    ):  # fmt: skip
        assert part in says
    assert dict(lines(item_sheet(repaired, When(AFTER), "P-1"), "7.8.6")) == {
        "statement of conformity": "nothing on record"
    }
