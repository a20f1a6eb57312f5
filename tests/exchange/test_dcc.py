"""Reading Digital Calibration Certificates: the public samples' numbers, our own sample, and what the schema does not check.

Check values: the institute's temperature test certificate for DCC 3.3.0 and its good-practice example 3.2.0 (public, LGPL-3.0),
read by hand; a constructed block certificate (CC0). The eleven gaps of the schema are facts of the public XSDs
DCC 3.2.0 to 3.3.0 and D-SI 2.1.0 and 2.2.1.
"""

from decimal import Decimal

import pytest

from refstd.base.errors import Refusal
from refstd.exchange.dcc import Understood, understood_from
from refstd.exchange.dcc_document import HOLDS_NUMBERS
from refstd.exchange.dcc_results import ValueRead
from tests.exchange.certificate_files import MEASURED, PUBLIC, U, edited, ours, public

TEMPERATURE = ("ptb-temperature-3.3.0.xml", "ptb-temperature-3.2.0-signed.xml")


def read(content: bytes) -> Understood:
    return understood_from("c.xml", content)


def column(found: Understood, role: str) -> list[ValueRead]:
    return [v for v in found.values if v.role == role]


def digits(values: list[Decimal | None]) -> str:
    return " ".join("—" if v is None else format(v, "f") for v in values)


def refused(content: bytes) -> str:
    """Return the refusal of a file that must be refused whole, with what, where and what to do."""
    with pytest.raises(Refusal) as caught:
        read(content)
    assert caught.value.where.startswith("c.xml")
    assert caught.value.remedy
    return str(caught.value)


# Published samples


@pytest.mark.parametrize("name", TEMPERATURE)
def test_the_public_temperature_certificates_read_as_printed(name: str) -> None:
    """Planted: limits taken as results (`//quantity`), the first spelling of U only: both failed here."""
    found = read(public(name))
    assert digits([v.value for v in column(found, "reference")]) == "306.248 373.121 448.253 523.319 593.154"
    assert digits([v.value for v in column(found, "measured")]) == "306.32 373.21 448.36 523.31 593.07"
    errors = column(found, "error")
    assert digits([v.value for v in errors]) == "0.072 0.089 0.107 -0.009 -0.084"
    pairs = zip(column(found, "measured"), column(found, "reference"), errors, strict=True)
    assert all(m.value - r.value == e.value for m, r, e in pairs)  # error = indicated - reference, each one
    assert {(str(v.expanded_uncertainty), str(v.coverage_factor), str(v.coverage_probability_percent)) for v in errors} == {("0.061", "2", "95")}  # fmt: skip
    assert digits([v.lower for v in errors]) == "-0.23 -0.23 -0.23 -0.30 -0.30"
    assert digits([v.upper for v in errors]) == "0.23 0.23 0.23 0.30 0.30"
    assert {(v.limits, v.stated, v.unit) for v in errors} == {("acceptance", "pass", "K")}
    assert digits([v.nominal for v in errors]) == "306 373 448 523 593"  # the calibration points
    assert (str(found.performed_on), str(found.recalibrate_on)) == ("1957-08-13", "1959-10-22")
    [item] = found.items
    assert [issuer for issuer, _ in item.numbers] == ["manufacturer", "customer", "calibrationLaboratory"]
    assert "temperature min 293 K (19.85 °C), temperature max 299 K (25.85 °C)" in found.parts[0].conditions[1]
    assert found.parts[0].temperature_c is None  # a range is no temperature


def test_the_public_samples_differ_where_they_do() -> None:
    newer, signed = read(public(TEMPERATURE[0])), read(public(TEMPERATURE[1]))
    assert (newer.number, newer.version, newer.signatures) == ("1234", "3.3.0", 0)
    assert (signed.number, signed.version, signed.signatures) == ("GP_DCC_temperature_typical_1.2", "3.2.0", 1)
    [file] = newer.files
    assert file.startswith("test.txt (text/plain, 5 bytes, SHA-256 ")


def test_the_constructed_block_certificate_reads_as_written() -> None:
    found = read(public("constructed-notched-block-3.3.0.xml"))
    values = column(found, "measured")
    assert [v.place for v in values] == ["N1", "N2", "N3", "N4"]
    assert digits([v.nominal for v in values]) == "0.50 1.00 1.50 2.00"
    assert digits([v.value for v in values]) == "0.503 1.012 1.497 2.060"
    assert digits([v.lower for v in values] + [v.upper for v in values]) == "0.45 0.95 1.45 1.95 0.55 1.05 1.55 2.05"
    assert {(str(v.expanded_uncertainty), str(v.coverage_factor), v.unit, v.limits, v.rule) for v in values} == {("0.010", "2", "mm", "tolerance", "simple")}  # fmt: skip
    assert [v.stated for v in values] == ["pass", "pass", "pass", "fail"]
    assert (found.change, found.replaces) == ("substituted", "EXAMPLE-2026-00011")
    assert (str(found.received_on), str(found.begun_on), str(found.performed_on), str(found.issued_on)) == ("2026-01-12", "2026-01-14", "2026-01-15", "2026-01-16")  # fmt: skip


# Our own sample


def test_our_sample_is_valid_by_the_public_schema() -> None:
    schema_file = PUBLIC / "schema" / "dcc-3.3.0.xsd"
    if not schema_file.is_file():
        pytest.skip("needs the public schema, which lies beside a full checkout (../shared/dcc), not in the project")
    from lxml import etree

    schema = etree.XMLSchema(etree.parse(schema_file))
    assert schema.validate(etree.fromstring(ours())), schema.error_log


def test_our_sample_is_understood_and_what_is_left_is_told() -> None:
    found = read(ours())
    values = column(found, "measured")
    assert (found.laboratory, found.accreditation, found.number) == (
        "Hallway Metrology",
        "own scheme, scope 14",
        "HM-26-1031",
    )
    assert digits([v.value for v in values]) == MEASURED
    assert digits([v.expanded_uncertainty for v in values]) == U
    assert {str(v.coverage_factor) for v in values} == {"2.00"}  # a digit as printed
    assert {v.method for v in values} == {"Replica and optical comparator, middle of each notch"}
    [part] = found.parts
    assert part.standards == ("Length standard, LS-3, certificate LS-3/25 of the national length laboratory",)
    assert part.conditions == ("Temperature of the room: 293.55 K (20.40 °C)", "Relative humidity: 0.45 (45 %)")
    assert str(part.temperature_c) == "20.40"
    assert [x.path.rpartition("/")[2] for x in found.left] == [
        "dccSoftware",
        "location",
        "location",
        "procedure",
        "value",
    ]
    assert found.left[3].begins == "SHA-256"


# What the schema does not check


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        (MEASURED, "NaN 1.007 1.571 1.998 2.490 3.012 3.500 4.003", "'NaN' is no value"),
        (MEASURED, "INF 1.007 1.571 1.998 2.490 3.012 3.500 4.003", "'INF' is no value"),
        (MEASURED, "0,504 1.007 1.571 1.998 2.490 3.012 3.500 4.003", "'0,504' is not a number"),
        (MEASURED, "٠.504 1.007 1.571 1.998 2.490 3.012 3.500 4.003", "is not a number"),
        (MEASURED, "0.504\u00a01.007 1.571 1.998 2.490 3.012 3.500 4.003", "is not a number"),
        (MEASURED, "0.504 1.007 1.571 1.998 2.490 3.012 3.500", "has 8 entries for 7 values"),
        (MEASURED, "0.504 1.007 1.571 1.998 2.490 3.012 3.500 4.003 4.5", "has 8 entries for 9 values"),
        ("0.50 1.00 1.50 2.00 2.50", "0.50 1.00 1.50 2.50", "has 7 values, and another column of its table 8"),
        (MEASURED, "0.504 1.007 1.571 1.998 2.490 3.012 3.500 4.0030000000000001", "more digits than can be kept"),
        (MEASURED, "0.504 1.007 1.571 1.998 2.490 3.012 3.500 1e99", "more digits than can be kept"),
        (MEASURED, "0.5<!-- -->04 1.007 1.571 1.998 2.490 3.012 3.500 4.003", "holds more than text"),
        (U, "0.010 0.010", "has 2 entries for 8 values"),
        (U, "0.010 0.010 0.010 0.010 0.010 0.012 0.012 0", "an uncertainty is not above 0"),
        (U, "-0.010", "an uncertainty is not above 0"),
        (">2.00<", "><", "has 0 entries for 8 values"),
        (">2.00<", ">2 2<", "has 2 entries for 8 values"),
        (">0.95<", ">95<", "out of range"),
        ("N1 N2 N3 N4 N5 N6 N7 N8", "N1 N2 N3 N4 N5 N6 N7", "a column of names has 7 of them, and the table 8 rows"),
        ("pass pass fail pass pass pass pass pass", "pass pass fail", "has 3 statements for 8 values"),
        ("pass pass fail pass pass pass pass pass", "passed", "a statement of conformity is none of"),
        ("0.45 0.95 1.45 1.95 2.45 2.95 3.45 3.95", "0.45 0.95", "has 2 entries for 8 values"),
        ("0.45 0.95 1.45 1.95 2.45 2.95 3.45 3.95", "0.65", "a lower limit is above its upper limit"),
        ('refType="basic_measuredValue" refId="replica"', 'refType="basic_measuredValue" refId="gone"', "refers to 'gone'"),
        ('refId="rule"', 'refId="rules"', "refers to 'rules'"),
        ('<dcc:measurementResult refId="block">', '<dcc:measurementResult refId="bloc">', "refers to 'bloc'"),
        ('id="replica"', 'id="rule"', "the id 'rule' stands twice"),
        ("basic_measuredValue", "basic_measuredValue basic_nominalValue", "is called both measured and nominal"),
        ('schemaVersion="3.3.0"', 'schemaVersion="3.4.0"', "version '3.4.0' of the certificate's form is not known"),
        ('schemaVersion="3.3.0"', 'schemaVersion="2.4.0"', "version '2.4.0'"),
        ('schemaVersion="3.3.0"', "", "version ''"),
        ("<dcc:uniqueIdentifier>HM-26-1031</dcc:uniqueIdentifier>", "", "'uniqueIdentifier' is missing"),
        ("<dcc:uniqueIdentifier>HM-26-1031</dcc:uniqueIdentifier>", "<dcc:uniqueIdentifier> </dcc:uniqueIdentifier>", "is empty"),
        ("<dcc:uniqueIdentifier>HM", "<dcc:uniqueIdentifier>A</dcc:uniqueIdentifier><dcc:uniqueIdentifier>HM", "stands 2 times"),
        (">2026-03-03<", ">2026-02-30<", "is not a date"),
        (">2026-03-03<", ">2026-03-01<", "its days do not follow each other"),
        (">Hallway Metrology<", "><", "the laboratory has no name"),
        ("<dcc:traceable>", "<dcc:value>0</dcc:value><dcc:traceable>", None),  # not used, and so only left
    ],
)  # fmt: skip
def test_what_the_schema_lets_pass_is_refused(before: str, after: str, says: str | None) -> None:
    """Planted: the list lengths compared with `min`; a leaf's `text` taken without looking for a comment in it."""
    content = edited(ours(), (before, after))
    if says is None:
        assert read(content).number == "HM-26-1031"
    else:
        assert says in refused(content)


@pytest.mark.parametrize("unit", [r"\inch", "mm", r"\milli\meter", r"\milli \metre", r"\Milli\metre", ""])
def test_a_unit_that_is_not_in_the_table_is_refused(unit: str) -> None:
    r"""`\inch` is no D-SI unit and plain `mm` is none either, though a public parser takes it for valid."""
    content = ours().replace(b"0.504 1.007", b"0.504 1.007")
    head, tail = content.split(MEASURED.encode())
    assert "unit" in refused(head + MEASURED.encode() + tail.replace(rb"\milli\metre", unit.encode(), 1))


def hybrid(second: str, unit: str, more: str = "") -> bytes:
    """Return our sample with its measured column in two units."""
    text = ours().decode()
    start = text.index("<si:realListXMLList>", text.index("Measured depth"))
    end = text.index("</si:realListXMLList>", start) + len("</si:realListXMLList>")
    other = f"<si:realListXMLList><si:valueXMLList>{second}</si:valueXMLList><si:unitXMLList>{unit}</si:unitXMLList>{more}</si:realListXMLList>"  # fmt: skip
    return f"{text[:start]}<si:hybrid>{text[start:end]}{other}</si:hybrid>{text[end:]}".encode()


def test_a_value_in_two_units_must_agree_with_itself() -> None:
    """Planted: the first spelling read and the second passed over; the last line failed."""
    micrometres = "504 1007 1571 1998 2490 3012 3500 4003"
    found = read(hybrid(micrometres, r"\micro\metre"))
    assert digits([v.value for v in column(found, "measured")]) == MEASURED
    read(hybrid("0.000504 0.001007 0.001571 0.001998 0.00249 0.003012 0.0035 0.004003", r"\metre"))
    assert "do not agree: 1.571 mm and 1517 µm" in refused(hybrid(micrometres.replace("1571", "1517"), r"\micro\metre"))
    assert "do not measure the same" in refused(hybrid(micrometres, r"\kelvin"))
    assert "not have the same number of values" in refused(hybrid("504 1007", r"\micro\metre"))
    inches = read(hybrid("0.020 0.040 0.062 0.079 0.098 0.119 0.138 0.158", r"\inch"))
    assert any("0.020 0.040" in x.begins for x in inches.left)  # a unit that cannot be compared is told, not trusted


def test_u_without_k_stays_without_k() -> None:
    """JCGM 100:2008, 7.2.3: U is not complete without k; 2 would be a guess."""
    content = edited(ours(), ("<si:coverageFactorXMLList>2.00</si:coverageFactorXMLList>", ""))
    values = column(read(content), "measured")
    assert {v.coverage_factor for v in values} == {None}
    assert digits([v.expanded_uncertainty for v in values]) == U


def test_a_standard_uncertainty_is_u_with_k_1() -> None:
    """JCGM 100:2008, 6.2.1: U = k·u, so that u itself is U with k = 1."""
    text = ours().decode()
    start, end = text.index("<si:expandedMUXMLList>"), text.index("</si:expandedMUXMLList>")
    inner = "<si:standardMUXMLList><si:valueStandardMUXMLList>0.005</si:valueStandardMUXMLList></si:standardMUXMLList>"
    values = column(read((text[:start] + inner + text[end + len("</si:expandedMUXMLList>") :]).encode()), "measured")
    assert {(str(v.expanded_uncertainty), str(v.coverage_factor), v.standard_uncertainty) for v in values} == {("0.005", "1", True)}  # fmt: skip


def conditions(*statuses: str, at: str = "measurementResult") -> bytes:
    told = "".join(
        f"<dcc:influenceCondition><dcc:name><dcc:content>when</dcc:content></dcc:name><dcc:status>{s}</dcc:status><dcc:data/></dcc:influenceCondition>"
        for s in statuses
    )  # fmt: skip
    if at == "measurementResult":
        return edited(ours(), ("<dcc:influenceConditions>", f"<dcc:influenceConditions>{told}"))
    column_end = "<dcc:measurementMetaData>"
    return edited(ours(), (column_end, f"<dcc:influenceConditions>{told}</dcc:influenceConditions>{column_end}"))


def test_as_found_and_as_left_come_from_the_status_nearest_to_the_value() -> None:
    """ISO/IEC 17025:2017, 7.8.4.1 d: results before and after an adjustment or repair, where they are there."""
    for status, stage in (
        ("beforeAdjustment", "as found"), ("afterAdjustment", "as left"), ("beforeRepair", "as found"), ("afterRepair", "as left"),
    ):  # fmt: skip
        assert {v.stage for v in column(read(conditions(status)), "measured")} == {stage}
    assert {v.stage for v in column(read(ours()), "measured")} == {""}
    near = edited(conditions("beforeAdjustment"), ("<dcc:measurementMetaData>", "<dcc:influenceConditions><dcc:influenceCondition><dcc:name><dcc:content>w</dcc:content></dcc:name><dcc:status>afterAdjustment</dcc:status></dcc:influenceCondition></dcc:influenceConditions><dcc:measurementMetaData>"))  # fmt: skip
    assert {v.stage for v in column(read(near), "measured")} == {"as left"}
    assert "does not say which values are as found" in refused(conditions("beforeAdjustment", "afterAdjustment"))
    assert "is no status" in refused(conditions("duringAdjustment"))


def test_text_is_taken_in_english_then_without_a_language_then_the_first() -> None:
    def named(*contents: str) -> str:
        whole = '<dcc:content lang="en">Hallway Metrology</dcc:content>'
        return read(edited(ours(), (whole, "".join(contents)))).laboratory

    german, bare = '<dcc:content lang="de">Messhaus</dcc:content>', "<dcc:content>Plain</dcc:content>"
    english = '<dcc:content lang="en">Measuring house</dcc:content>'
    assert [named(german, bare, english), named(german, bare), named(german)] == [
        "Measuring house",
        "Plain",
        "Messhaus",
    ]


def test_a_value_marked_not_valid_is_refused() -> None:
    marked = edited(ours(), ("<dcc:conformityXMLList>", "<dcc:validXMLList>true true false true true true true true</dcc:validXMLList><dcc:conformityXMLList>"))  # fmt: skip
    assert "marks a value as not valid" in refused(marked)


def test_one_entry_of_a_list_stands_for_all_and_a_quantity_a_notch_is_read_too() -> None:
    found = read(edited(ours(), ("pass pass fail pass pass pass pass pass", "pass"), (U, "0.010")))
    assert {(v.stated, str(v.expanded_uncertainty)) for v in column(found, "measured")} == {("pass", "0.010")}
    text = ours().decode()
    start, end = text.index("<dcc:list>"), text.index("</dcc:list>") + len("</dcc:list>")
    single = "".join(
        f'<dcc:quantity refType="basic_measuredValue"><dcc:name><dcc:content>{n} depth</dcc:content></dcc:name><si:real>'
        f"<si:value>{v}</si:value><si:unit>\\milli\\metre</si:unit></si:real></dcc:quantity>"
        for n, v in (("N1", "0.50"), ("N2", "1.00"))
    )
    values = column(read((text[:start] + single + text[end:]).encode()), "measured")
    assert [(v.place, str(v.value)) for v in values] == [("N1 depth", "0.50"), ("N2 depth", "1.00")]


def test_a_column_without_a_reftype_has_no_meaning() -> None:
    """Never by column order: what the file does not call the measured value is not taken for it."""
    found = read(edited(ours(), ('refType="basic_measuredValue" refId="replica"', "")))
    assert column(found, "measured") == []
    assert {(v.role, v.column) for v in found.values} == {("", "Measured depth")}


def test_limits_of_two_kinds_are_not_mixed_and_those_that_do_not_count_are_told_as_left() -> None:
    """Planted: the first kind taken and the upper limit of the other kind dropped without a word."""
    assert "limits of two kinds, one side each" in refused(
        ours().replace(b"basic_toleranceLimitUpper", b"basic_acceptanceLimitUpper")
    )
    text = ours().decode()
    start = text.index('<dcc:quantity refType="basic_toleranceLimitLower">')
    end = text.index("</dcc:data>", start)
    twice = text[start:end] + text[start:end].replace("basic_toleranceLimit", "basic_acceptanceLimit")
    found = read((text[:start] + twice + text[end:]).encode())
    values = column(found, "measured")
    assert {v.limits for v in values} == {"tolerance"}
    assert digits([v.upper for v in values]) == "0.55 1.05 1.55 2.05 2.55 3.05 3.55 4.05"
    assert [x.path.rpartition("/")[2] for x in found.left if HOLDS_NUMBERS in x.begins] == [
        "quantity[3]",
        "quantity[4]",
    ]


def two_items(part: str, *edits: tuple[str, str]) -> bytes:
    """Return our sample with a second item, its part naming the items of `part`."""
    other = '<dcc:item id="other"><dcc:name><dcc:content lang="en">Block</dcc:content></dcc:name><dcc:identifications><dcc:identification><dcc:issuer>owner</dcc:issuer><dcc:value>B-104</dcc:value></dcc:identification></dcc:identifications></dcc:item></dcc:items>'
    return edited(ours(), ("</dcc:items>", other), ('<dcc:measurementResult refId="block">', f'<dcc:measurementResult refId="{part}">'), *edits)  # fmt: skip


@pytest.mark.parametrize(
    ("part", "edit", "item"),
    [
        ("block other", ("<dcc:result>", '<dcc:result refId="other">'), 1),
        ("block", ("<dcc:result>", '<dcc:result refId="other">'), 1),
        ("other", ('refId="replica"', 'refId="replica block"'), 0),
        ("other", ("<dcc:list>", '<dcc:list refId="block">'), 0),
    ],
)
def test_values_belong_to_the_item_that_is_named_nearest_to_them(part: str, edit: tuple[str, str], item: int) -> None:
    """Planted: only the part was asked, so that another block's depths were filed for this one."""
    measured = column(read(two_items(part, edit)), "measured")
    assert {v.item for v in measured} == {item}


def test_values_of_which_nothing_says_to_which_of_several_items_they_belong_are_refused() -> None:
    assert "names 2 items, and nothing says to which" in refused(two_items("block other"))
    both = two_items("block", ("<dcc:result>", '<dcc:result refId="block other">'))
    assert "names 2 items, and nothing says to which" in refused(both)
