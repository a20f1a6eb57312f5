"""Text that people typed or pasted: what is kept, what counts as the same, what may reach a terminal."""

import sys
import unicodedata

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from refstd.base.text import kept, key, number_problem, safe, safe_lines

# Unicode Standard Annex #44, General_Category (as Python's unicodedata tables hold it): controls, format characters
# (bidirectional and zero-width ones among them), surrogates, line and paragraph separators.
NEVER_SHOWN = {"Cc", "Cf", "Cs", "Zl", "Zp"}
EVERY_CHARACTER = [chr(point) for point in range(sys.maxunicode + 1)]


def test_no_control_format_or_separator_character_is_shown() -> None:
    """Found so, not planted: U+180E, U+FFF9–FFFB and the invisible tag characters U+E0000–E007F went through."""
    through = [hex(ord(c)) for c in EVERY_CHARACTER if unicodedata.category(c) in NEVER_SHOWN and safe(c) != "\ufffd"]
    assert through == []


def test_letters_digits_signs_and_blanks_are_shown_as_they_are() -> None:
    """Caught: replacing by `str.isprintable`, which takes the no-break blank and private signs away."""
    for c in EVERY_CHARACTER:
        if unicodedata.category(c)[0] in "LNPS" or unicodedata.category(c) == "Zs":
            blank_letter = c in "\u115f\u1160\u3164\uffa0"  # Hangul fillers: letters that nobody sees
            assert safe(c) == ("\ufffd" if blank_letter else c), hex(ord(c))


@pytest.mark.parametrize(
    "attack",
    [
        "\x1b[31mred", "\x1b]52;c;aGk=\x07", "\x9b2J", "REJECTED\rACCEPTED", "a\x00b", "a\tb", "a\nb", "\u202eDETPECCA",
        "\u2066x\u2069", "P\u200b-1", "\ufeffP-1", "a\u2028b", "\x7f", "P-1\U000e0041", "\ud800",
    ],
)  # fmt: skip
def test_what_could_steer_a_terminal_or_mislead_an_eye_is_not_shown_and_not_kept(attack: str) -> None:
    assert "\ufffd" in safe(attack)
    assert all(unicodedata.category(c) not in NEVER_SHOWN for c in safe(attack))
    assert kept("x" + attack + "x", "name")[1] is not None


@given(st.text())
def test_what_is_shown_is_safe_already_and_as_long_as_before(text: str) -> None:
    assert safe(safe(text)) == safe(text)
    assert len(safe(text)) == len(text)
    assert safe_lines(text).count("\n") == text.count("\n")
    assert safe_lines(text).replace("\n", "") == safe(text.replace("\n", ""))


@given(st.text())
def test_kept_text_is_normal_trimmed_and_kept_the_same_way_again(text: str) -> None:
    form, problem = kept(text, "name")
    assert unicodedata.is_normalized("NFC", form)
    assert form == form.strip()
    assert kept(form, "name") == (form, problem)
    if problem is None:
        assert safe(form) == form


def test_kept_text_has_a_longest_length_and_may_have_to_be_there() -> None:
    assert kept("x" * 10_000, "note")[1] is None
    assert str(kept("x" * 10_001, "note")[1]) == "note: is 10001 characters long, at most 10000 are kept. Shorten it."
    assert kept(" ", "note")[1] is None
    assert str(kept(" ", "name", empty=False)[1]) == "name: is empty. Give a value."


@settings(max_examples=500)
@given(st.text())
def test_the_key_of_a_key_is_itself(text: str) -> None:
    assert key(key(text)) == key(text)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("P-1", "p-1"), ("Prüf", "Pru\u0308f"), ("É", "e\u0301"), ("Straße", "STRASSE"), ("P－１", "P-1"),
        (" a  b ", "A B"), ("Ω", "Ω"), ("ﬁne", "FINE"),
    ],
)  # fmt: skip
def test_what_a_person_takes_for_the_same_has_the_same_key(one: str, other: str) -> None:
    """Caught: `lower` for `casefold`; NFC for NFKC."""
    assert key(one) == key(other)


@pytest.mark.parametrize("number", ["A", "0", "P-1", "BH-SET-02", "A" * 20, "1-2-3"])
def test_numbers_of_ours(number: str) -> None:
    assert number_problem(number, "asset_no") is None


@pytest.mark.parametrize(
    "number",
    ["", "-", "-A", "A-", "a", "A B", "A_1", "A" * 21, "P-1\n", "Ä", "١", "P/1", "../x", "\x1b[2J", "P\u200b1"],
)
def test_what_is_no_number_of_ours_is_refused_with_a_remedy(number: str) -> None:
    """Caught: `match` for `fullmatch`."""
    problem = number_problem(number, "asset_no")
    assert problem is not None
    assert problem.remedy
    assert safe(str(problem)) == str(problem)
