"""A certificate's values as typed: what holds for all rows, what a row says for itself, and what is asked about."""

from collections.abc import Mapping
from decimal import Decimal

import pytest

from refstd.desk.certificate_entry import ValuesForAll, ValuesRow, doubts_about, head_from_last, rows_of
from refstd.desk.certificates import ValueDraft, ValueShown
from refstd.desk.entry import draft_or_refuse, read_draft
from refstd.desk.history import CertificateShown
from refstd.desk.items import NotchShown


def for_all(**fields: str) -> ValuesForAll:
    return draft_or_refuse(ValuesForAll, fields, "for all")


def row(**fields: str) -> ValuesRow:
    return draft_or_refuse(ValuesRow, fields, "row")


def shown(v: ValueDraft) -> ValueShown:
    """Return a value as filed, before it is judged."""
    return ValueShown(**{n: getattr(v, n) for n in ValueShown.__dataclass_fields__ if n != "judged"})


def test_a_row_takes_what_holds_for_all_unless_it_says_otherwise() -> None:
    all_rows = for_all(
        expanded_uncertainty="0.010", coverage_factor="2", coverage_probability_percent="95.45", point="deepest"
    )
    [plain] = row(notch="A", left="0.51").values(all_rows)
    [own] = row(notch="B", left="1.02", expanded_uncertainty="0.012", point="middle").values(all_rows)
    assert (str(plain.expanded_uncertainty), plain.point, plain.unit, plain.limit_source) == (
        "0.010",
        "deepest",
        "mm",
        "",
    )
    assert (str(own.expanded_uncertainty), str(own.coverage_factor), own.point) == ("0.012", "2", "middle")


def test_where_limits_come_from_is_kept_with_limits_only() -> None:
    all_rows = for_all(limit_source="drawing 7")
    [without] = row(notch="A", left="0.51").values(all_rows)
    [with_limits] = row(notch="A", left="0.51", upper_limit="0.55").values(all_rows)
    assert (without.limit_source, with_limits.limit_source) == ("", "drawing 7")


@pytest.mark.parametrize("differ", [{}, {"expanded_uncertainty": Decimal("0.02")}, {"point": "middle"}, {"unit": "µm"}])
def test_a_correction_begins_with_every_value_as_it_was_filed(differ: Mapping[str, object]) -> None:
    """Planted bug it caught: as found and as left put in one row although their U differ, so that one U was lost."""
    all_rows = for_all(expanded_uncertainty="0.010", coverage_factor="2", limit_source="drawing 7")
    filed = [
        *row(notch="A", found="0.50", left="0.51", lower_limit="0.45").values(all_rows),
        *row(notch="B", left="1.02").values(all_rows),
        *row(notch="B", quantity="length", left="12.1", method="callipers").values(all_rows),
    ]
    filed[1] = filed[1].model_copy(update=differ)
    shared, rows = rows_of([shown(v) for v in filed])
    again, problems = read_draft(ValuesForAll, {k: v for k, v in shared.items() if v is not None})
    assert again is not None, problems
    kept = [
        v
        for r in rows
        for v in draft_or_refuse(ValuesRow, {k: v for k, v in r.items() if v is not None}, "row").values(again)
    ]
    assert sorted(map(repr, kept)) == sorted(map(repr, filed))


BLOCK = tuple(
    NotchShown(label, "surface", "EDM", Decimal(depth), Decimal(12), None, None, None, False)
    for label, depth in (("A", "0.5"), ("B", "1.0"))
)


def doubts(*rows: ValuesRow, **all_rows: str) -> str:
    return "\n".join(doubts_about(BLOCK, [v for r in rows for v in r.values(for_all(**all_rows))]))


def test_a_value_far_from_its_nominal_is_asked_about_in_either_unit() -> None:
    """Planted bug it caught: micrometres held against millimetres as they stand."""
    near = row(notch="B", left="1.2")
    assert doubts(row(notch="A", left="0.4"), near) == ""
    assert doubts(row(notch="a", left="0.39"), near) == "a depth as left: 0.39 mm is 22 % below the nominal 0.5 mm"
    assert doubts(row(notch="A", left="5.02"), near) == "A depth as left: 5.02 mm is 10.0 times the nominal 0.5 mm"
    assert doubts(row(notch="A", left="502"), row(notch="B", left="998"), unit="µm") == ""
    assert "502 mm is 1004.0 times" in doubts(row(notch="A", left="502"), near)
    assert "12.0 times" not in doubts(row(notch="A", quantity="length", left="12"), near)


def test_an_unlikely_uncertainty_is_asked_about() -> None:
    both = (row(notch="A", left="0.51"), row(notch="B", left="1.02"))
    assert "A depth as left: U 0.3 mm is more than half of 0.51 mm" in doubts(*both, expanded_uncertainty="0.3")
    assert "k 20 is unusual" in doubts(*both, coverage_factor="20")


def test_what_is_missing_is_asked_about_once_all_is_typed() -> None:
    assert doubts(row(notch="A", left="0.51")) == "no value for notch B"
    assert doubts() == "no value is typed: the certificate alone is filed"
    two = doubts(row(notch="A", found="0.51", left="0.50"), row(notch="B", found="1.02"))
    assert two == "B: as found without as left"


def paper(number: str, *, activity: str = "calibration", in_force: bool = True) -> CertificateShown:
    return CertificateShown(
        number, activity, "Hall lab", "", "2030-01-02", "", "replica", "", "20.1", "standard 12", False, "", "simple", "", "",
        in_force, "", "", (),
    )  # fmt: skip


def test_the_next_paper_begins_with_what_the_last_calibration_in_force_said_of_the_laboratory_alone() -> None:
    """Its temperature, standards and rule are facts of that day. Planted bug it caught: the newest, in force or not."""
    papers = (paper("K-1"), paper("K-2", in_force=False), paper("C-3", activity="comparison"))
    assert head_from_last(papers) == ({"laboratory": "Hall lab", "method": "replica"}, "K-1 of 2030-01-02")
    assert head_from_last(papers[1:]) == ({}, "")
