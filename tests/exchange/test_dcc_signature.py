"""The signature of a public certificate file: intact at its time, broken by one digit or one blank, and what it does not prove.

Facts of the sample (its README): 2 references, ECDSA-SHA256, time claimed 2023-03-27T15:14:30Z, signer's certificate valid
2021-12-02 to 2024-12-02 of a made-up laboratory; root and intermediate lie beside it.
"""

import importlib.util

import pytest

from refstd.base.errors import Refusal
from refstd.exchange.dcc import understood_from
from tests.exchange.certificate_files import PUBLIC, edited, ours, public

NAME = "ptb-temperature-3.2.0-signed.xml"
checked = pytest.mark.skipif(
    importlib.util.find_spec("signxml") is None, reason="needs the extra: pip install 'refstd[sign]'"
)


def signed(content: bytes, *trusted: str) -> str:
    return understood_from(
        "s.xml", content, [(PUBLIC / "samples" / "trust" / name).read_bytes() for name in trusted]
    ).signed


@checked
def test_an_intact_signature_is_told_with_what_it_does_not_prove() -> None:
    says = signed(public(NAME))
    for words in (
        "its signature is intact: the file is as it was signed", "valid 2021-12-02 to 2024-12-02",
        "signed 2023-03-27 15:14 UTC by the signer's word", "who holds the key is not known here", "revocation was not checked",
    ):  # fmt: skip
        assert words in says


@checked
def test_the_chain_is_checked_at_the_claimed_time_not_today() -> None:
    """Planted: checked at today's instant; the signer's certificate ended in 2024 and the sound file did not lead anywhere."""
    content = public(NAME)
    assert "leads to one that you named as trusted" in signed(content, "root.crt", "sub.crt")
    assert "does not lead to one that you named as trusted" in signed(
        content, "root.crt"
    )  # the intermediate is missing


@checked
@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("306.248 373.121", "306.249 373.121"),
        ("306.248 373.121", "306.248  373.121"),
        ("<dcc:uniqueIdentifier>GP", "<dcc:uniqueIdentifier>Gp"),
        ("2023-03-27T15:14:30Z", "2023-03-28T15:14:30Z"),
    ],
    ids=["digit", "blank", "letter", "time"],
)
def test_a_file_changed_after_it_was_signed_is_refused(before: str, after: str) -> None:
    with pytest.raises(Refusal, match="the file is not as it was signed"):
        signed(edited(public(NAME), (before, after)))


@checked
def test_a_signature_of_a_part_is_not_taken_for_one_of_the_whole() -> None:
    part = edited(public(NAME), ('URI=""', 'URI="#elsewhere"'))
    assert "it does not sign the whole certificate" in signed(part)
    filtered = edited(
        public(NAME), ("http://www.w3.org/2006/12/xml-c14n11", "http://www.w3.org/TR/1999/REC-xpath-19991116")
    )
    assert "it does not sign the whole certificate" in signed(filtered)


def test_without_the_extra_a_signature_is_told_and_not_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    says = signed(edited(ours(), ("</dcc:digitalCalibrationCertificate>", '<ds:Signature xmlns:ds="http://www.w3.org/2000/09/xmldsig#"/></dcc:digitalCalibrationCertificate>')))  # fmt: skip
    assert says.startswith("carries a signature; refstd did not check it")
    assert signed(ours()) == ""
