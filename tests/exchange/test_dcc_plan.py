"""From a certificate file to the record: the right item, the right notch, asked where nobody knows, and one act or nothing."""

import hashlib
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from refstd.base.errors import BadInput, NotAllowed, NotFound, Refusal
from refstd.desk import equipment
from refstd.desk.certificates import paper_bytes
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.history import CertificateShown, item_record
from refstd.desk.log import log_entries
from refstd.desk.store import Lab, When
from refstd.exchange.dcc import understood_from
from refstd.exchange.dcc_item import ItemNotSaid
from refstd.exchange.dcc_plan import Plan, file_plan, plan_import
from refstd.register.certificates import Certificate, NameMapping
from tests import thin_thread
from tests.exchange.certificate_files import MEASURED, U, edited, ours, public
from tests.given import KEEPER, NOON, count

DEPTHS = ("0.5", "1.0", "1.5", "2.0", "2.5", "3.0", "3.5", "4.0")
MAP = {f"N{n}": f"{d} mm" for n, d in enumerate(DEPTHS, start=1)}
WHEN = When(NOON + timedelta(hours=1))


@pytest.fixture
def home(lab: Lab) -> Lab:
    """A lab with a block of eight notches, one of four, and an instrument."""
    thin_thread.people_and_material(lab)
    enter(lab, "B-103", DEPTHS)
    enter(lab, "B-104", DEPTHS[:4], serial_no="77")
    thin_thread.instrument(lab, "I-1", serial_no="0147")
    return lab


def enter(lab: Lab, number: str, depths: tuple[str, ...], **values: str) -> None:
    fields = {"asset_no": number, "name": "block", "material": "AL", "form": "plate", "thickness_mm": "10"} | values
    notches = [draft(equipment.NotchDraft, {"label": f"{d} mm", "depth_mm": d}, d) for d in depths]
    equipment.enter_item(lab, draft(equipment.BlockDraft, fields, number), notches, by=KEEPER, now=NOON)


def plan(lab: Lab, content: bytes | None = None, **options: Any) -> Plan:
    return plan_import(lab, WHEN, understood_from("HM.xml", content or ours()), **options)


def file(lab: Lab, content: bytes | None = None, **options: Any) -> Plan:
    made = plan(lab, content, **options)
    file_plan(lab, made, by=KEEPER, now=WHEN.now)
    return made


def filed(lab: Lab, number: str = "B-103") -> list[CertificateShown]:
    return list(item_record(lab, number, WHEN).certificates)


def another(number: str, *edits: tuple[str, str]) -> bytes:
    return edited(ours(), ("<dcc:uniqueIdentifier>HM-26-1031<", f"<dcc:uniqueIdentifier>{number}<"), *edits)


# Filing


def test_it_is_filed_as_the_file_has_it_with_its_bytes_and_the_mapping_in_one_act(home: Lab) -> None:
    """Planted: the decoded and re-encoded text attached instead of the bytes received; the hash differed."""
    before = log_entries(home, WHEN)[0].sequence
    content = ours().replace(b"\n", b"\r\n")
    file(home, content, places=MAP)
    [paper] = filed(home)
    assert (paper.number, paper.laboratory, str(paper.performed_on), paper.decision_rule) == ("HM-26-1031", "Hallway Metrology", "2026-03-03", "simple")  # fmt: skip
    assert " ".join(format(v.value, "f") for v in paper.values) == MEASURED
    assert " ".join(str(v.expanded_uncertainty) for v in paper.values) == U
    assert [v.notch for v in paper.values] == list(MAP.values())
    assert {(v.quantity, v.stage, v.unit, str(v.coverage_factor)) for v in paper.values} == {("depth", "as left", "mm", "2.00")}  # fmt: skip
    third = paper.values[2]
    assert (str(third.lower_limit), str(third.upper_limit)) == ("1.45", "1.55")
    assert third.limit_source == "tolerance limits of certificate HM-26-1031; the laboratory states fail"
    name, kept = paper_bytes(home, paper.paper_sha256, WHEN)
    assert (name, kept, paper.paper_sha256) == ("HM.xml", content, hashlib.sha256(content).hexdigest())
    assert log_entries(home, WHEN)[0].sequence == before + 1
    assert count(home, NameMapping) == 8


def test_the_mapping_is_remembered_for_the_laboratory_and_the_item_alone(home: Lab) -> None:
    file(home, places=MAP)
    again = plan(home, another("HM-27-1032"))
    assert not again.stops
    assert {(x.shown, x.means, x.how) for x in again.lines} == {(t, o, "remembered") for t, o in MAP.items()}
    elsewhere = plan(home, another("Q-1", (">Hallway Metrology<", ">Quayside Metrology<")))
    assert {x.means for x in elsewhere.lines} == {""}
    file_plan(home, again, by=KEEPER, now=WHEN.now)
    assert count(home, NameMapping) == 8  # what is known is not kept twice


def test_the_newest_meaning_counts_and_the_earlier_one_stays(home: Lab) -> None:
    file(home, places=MAP | {"N8": "left out"})
    assert [v.notch for v in filed(home)[0].values] == list(MAP.values())[:7]
    assert plan(home, another("HM-27-1")).watch == ("N8 is left out, remembered",)
    file(home, another("HM-27-1"), places={"N8": "4.0 mm"})
    assert plan(home, another("HM-28-1")).lines[7].means == "4.0 mm"
    assert count(home, NameMapping) == 9


def test_a_label_that_is_the_same_in_both_needs_no_mapping(home: Lab) -> None:
    names = " ".join(f"{d}_mm" for d in DEPTHS)
    labelled = edited(ours(), ("N1 N2 N3 N4 N5 N6 N7 N8", names))
    assert {x.means for x in plan(home, labelled).lines} == {""}
    enter(home, "B-105", ())
    notches = [draft(equipment.NotchDraft, {"label": f"N{n}", "depth_mm": d}, d) for n, d in enumerate(DEPTHS, start=1)]
    fields = {"asset_no": "B-106", "name": "block", "material": "AL", "form": "plate", "thickness_mm": "10"}
    equipment.enter_item(home, draft(equipment.BlockDraft, fields, "B-106"), notches, by=KEEPER, now=NOON)
    found = plan(home, edited(ours(), (">B-103<", ">B-106<")))
    assert {(x.shown == x.means, x.how) for x in found.lines} == {(True, "the same label")}
    assert not found.stops


def test_a_correction_by_the_laboratory_takes_the_place_of_the_one_it_names(home: Lab) -> None:
    """ISO/IEC 17025:2017, 7.8.8.3: a new report identifies the original that it replaces."""
    file(home, places=MAP)
    change = "<dcc:reportAmendedSubstituted><dcc:typeOfChange>amended</dcc:typeOfChange><dcc:replacedUniqueIdentifier>HM-26-1031</dcc:replacedUniqueIdentifier></dcc:reportAmendedSubstituted>"  # fmt: skip
    issue = "<dcc:issueDate>2026-03-04</dcc:issueDate>"
    amended = another("HM-26-1031A", (issue, issue + change))
    made = file(home, amended)
    assert made.supersedes == "HM-26-1031"
    assert [(c.number, c.in_force) for c in filed(home)] == [("HM-26-1031", False), ("HM-26-1031A", True)]
    other = plan(home, another("X-1", (issue, issue + change.replace("1031<", "9999<"))))
    assert other.supersedes == ""
    assert "it has amended certificate HM-26-9999, which is not in force for B-103" in other.watch


def test_as_found_and_as_left_are_filed_as_such(home: Lab) -> None:
    text = ours().decode()
    start, end = text.index("<dcc:measurementResult "), text.index("</dcc:measurementResults>")
    part = text[start:end]
    cut = part.replace('id="replica"', "").replace('refId="replica"', "")

    def stated(status: str, of: str) -> str:
        condition = f"<dcc:influenceCondition><dcc:name><dcc:content>when</dcc:content></dcc:name><dcc:status>{status}</dcc:status></dcc:influenceCondition>"
        return of.replace("<dcc:influenceConditions>", f"<dcc:influenceConditions>{condition}")

    found = stated("beforeAdjustment", cut.replace("1.571", "1.602"))
    both = text[:start] + found + stated("afterAdjustment", part) + text[end:]
    only = plan(home, (text[:start] + stated("beforeAdjustment", part) + text[end:]).encode(), places=MAP)
    assert only.draft.adjusted  # planted: only 'as left' counted, so that what was found passed for what was left
    assert [p.where for p in only.stops] == list(MAP)
    assert "nothing says how it was left" in stops(only)
    file(home, both.encode(), places=MAP)
    [paper] = filed(home)
    assert [(v.stage, str(v.value)) for v in paper.values if v.notch == "1.5 mm"] == [("as found", "1.602"), ("as left", "1.571")]  # fmt: skip
    assert paper.adjusted


# What stops it


def stops(made: Plan) -> str:
    return "\n".join(map(str, made.stops))


def test_nothing_is_mapped_by_its_place_in_the_table(home: Lab) -> None:
    """Planted: notches taken in their order where no name is known; this failed."""
    made = plan(home)
    assert len(made.stops) == 8
    assert "N1: nobody has said which notch of B-103 it is" in stops(made)
    before = count(home, Certificate)
    with pytest.raises(BadInput):
        file_plan(home, made, by=KEEPER, now=WHEN.now)
    assert count(home, Certificate) == before


def test_a_notch_of_another_nominal_depth_is_refused(home: Lab) -> None:
    """Planted: the comparison of nominal depths taken out; two notches exchanged would have been filed."""
    crossed = MAP | {"N1": "1.0 mm", "N2": "0.5 mm"}
    assert "N1: its nominal depth is 0.50 mm, that of notch 1.0 mm 1.0 mm" in stops(plan(home, places=crossed))
    no_nominal = edited(ours(), ('refType="basic_nominalValue"', ""))
    made = plan(home, no_nominal, places=crossed)
    assert "N1: 0.504 mm is far from the 1.0 mm of notch 1.0 mm; is it the right one?" in made.watch


def test_two_places_that_mean_one_notch_are_refused(home: Lab) -> None:
    unnamed = edited(ours(), ('refType="basic_nominalValue"', ""))
    assert "N2: means the same as N1: depth as left of 0.5 mm" in stops(
        plan(home, unnamed, places=MAP | {"N2": "0.5 mm"})
    )


def test_a_name_or_notch_that_is_not_there_is_refused(home: Lab) -> None:
    with pytest.raises(NotFound, match=r"no notch '9 mm'"):
        plan(home, places={"N1": "9 mm"})
    with pytest.raises(NotFound, match=r"no place or column 'n9'"):
        plan(home, places={"N9": "0.5 mm"})


def test_a_column_that_says_no_quantity_is_asked_for_and_remembered(home: Lab) -> None:
    silent = (("Measured depth", "Tiefe"), ("Depth of the notches", "Ergebnis"))
    made = plan(home, another("A-1", *silent), places=MAP)
    assert "column 'Tiefe' does not say which quantity it holds" in stops(made)
    file(home, another("A-1", *silent), places=MAP, quantities={"Tiefe": "depth"})
    assert {x.quantity for x in plan(home, another("A-2", *silent)).lines} == {"depth"}


def test_a_column_that_nobody_calls_measured_is_taken_only_when_somebody_says_so(home: Lab) -> None:
    plain = edited(ours(), ('refType="basic_measuredValue" refId="replica"', ""))
    with pytest.raises(Refusal, match="no column of it is said to hold the measured value"):
        plan(home, plain, places=MAP)
    made = plan(home, plain, places=MAP, take=("Measured depth",))
    assert [format(v.value, "f") for v in made.values] == MEASURED.split()


def test_the_same_certificate_twice_is_refused(home: Lab) -> None:
    file(home, places=MAP)
    assert "certificate HM-26-1031 of B-103 is on record already" in stops(plan(home))


def test_who_may_not_file_a_certificate_may_not_import_one(home: Lab) -> None:
    with pytest.raises(NotAllowed):
        file_plan(home, plan(home, places=MAP), by="TESS", now=WHEN.now)
    assert count(home, NameMapping) == 0


def test_what_the_laboratory_states_is_held_against_its_own_limits(home: Lab) -> None:
    lenient = edited(ours(), ("pass pass fail pass pass pass pass pass", "pass"))
    watch = plan(home, lenient, places=MAP).watch
    assert watch == ("N3: the laboratory states pass, and the value is outside its tolerance limits",)


# Which item


def test_the_item_is_found_by_asset_number_then_by_serial_number(home: Lab) -> None:
    serial = "<dcc:issuer>manufacturer</dcc:issuer>\n      <dcc:value>77</dcc:value>"
    owner = "<dcc:issuer>owner</dcc:issuer>\n      <dcc:value>B-103</dcc:value>"
    assert plan(home).found_by == "by its asset number"
    found = plan(home, edited(ours(), (owner, serial)))
    assert (found.item.asset_no, found.found_by) == ("B-104", "by its serial number")
    nobody = edited(ours(), (">B-103<", ">B-999<"))
    with pytest.raises(ItemNotSaid, match="no item of the register fits"):
        plan(home, nobody)
    enter(home, "B-107", DEPTHS, serial_no="77")
    with pytest.raises(ItemNotSaid, match="several items of the register fit the certificate: B-104, B-107"):
        plan(home, edited(ours(), (owner, serial)))
    assert plan(home, edited(ours(), (owner, serial)), item="B-107").found_by == "as you said"


def test_an_item_that_the_certificate_is_not_about_is_refused(home: Lab) -> None:
    """Planted: the numbers compared only when the item was found by them; a certificate went to any item named."""
    with pytest.raises(Refusal, match="the certificate is about B-103, not about B-104"):
        plan(home, item="B-104")
    serial = (
        "<dcc:issuer>calibrationLaboratory</dcc:issuer>\n      <dcc:value>2026-0218",
        "<dcc:issuer>manufacturer</dcc:issuer>\n      <dcc:value>78",
    )
    with pytest.raises(Refusal, match="the serial number of B-104 on record is 77, on the certificate 78"):
        plan(home, edited(ours(), (">B-103<", ">B-104<"), serial))
    with pytest.raises(Refusal, match="no number on the certificate is one of B-103"):
        plan(home, edited(ours(), (">B-103<", ">XB-3<")), item="B-103")


def test_a_unit_that_no_certified_value_has_stops_it(home: Lab) -> None:
    """The public temperature certificate is read whole, and none of its kelvins is filed."""
    thin_thread.instrument(home, "I-9", serial_no="string-manufacturer-item")
    made = plan_import(home, WHEN, understood_from("t.xml", public("ptb-temperature-3.2.0-signed.xml")))
    assert (made.item.asset_no, len(made.lines)) == ("I-9", 5)
    assert {x.read.role for x in made.lines} == {"error"}  # of an instrument its errors count
    assert "certified values in K are not kept" in stops(made)
    assert any("signature" in w for w in made.watch)


def test_an_instruments_values_stand_for_the_whole_item_each_with_its_point(home: Lab) -> None:
    text = ours().decode().replace(">B-103<", ">I-1<").replace("basic_measuredValue", "basic_measurementError")
    text = text.replace(MEASURED, "0.04 -0.02 0.11 0.10 0.01 0.02 0.03 0.04").replace(r"\milli\metre", r"\decibel")
    text = text.replace("Measured depth", "gain error").replace("Depth of the notches", "Gain").replace("0.45 0.95 1.45 1.95 2.45 2.95 3.45 3.95", "-0.5").replace("0.55 1.05 1.55 2.05 2.55 3.05 3.55 4.05", "0.5")  # fmt: skip
    named = plan(home, text.encode())
    assert (named.lines[0].means, named.lines[0].quantity) == ("whole item", "gain error, N1")
    assert not named.stops
    unnamed = plan(home, re_chars(text).encode())
    assert unnamed.lines[1].quantity == "gain error at 1.00 dB"


def re_chars(text: str) -> str:
    start = text.index("<dcc:charsXMLList>")
    return text[:start] + "<dcc:noQuantity/>" + text[text.index("</dcc:charsXMLList>") + len("</dcc:charsXMLList>") :]


def test_a_certificate_of_several_items_gives_each_its_own_results(home: Lab) -> None:
    text = ours().decode()
    start, end = text.index('<dcc:item id="block">'), text.index("</dcc:items>")
    other = (
        text[start:end].replace('id="block"', 'id="other"').replace("B-103", "B-104").replace("2026-0218", "2026-0219")
    )
    whole = text[:end] + other + text[end:]
    with pytest.raises(ItemNotSaid, match="several items"):
        plan(home, whole.encode())
    assert len(plan(home, whole.encode(), item="B-103").lines) == 8
    with pytest.raises(Refusal, match="no column of it"):
        plan(home, whole.encode(), item="B-104")  # none of the results is about it
    loose = whole.replace('<dcc:measurementResult refId="block">', "<dcc:measurementResult>")
    with pytest.raises(Refusal, match="does not say which of the items"):
        plan(home, loose.encode(), item="B-103")


def test_the_store_is_untouched_by_looking(home: Lab, store: Path) -> None:
    before = log_entries(home, WHEN)[0].sequence
    plan(home, places=MAP)
    assert log_entries(home, WHEN)[0].sequence == before
