"""The signature of a certificate file: whether the file is as it was signed, by which key, and what that does not prove.

Checked at the time that the signer claims, since a laboratory's key certificate ends long before its papers do. A file that
was changed after it was signed is refused. Who holds the key is known only where a certificate of trust was named. Needs the
extra `sign`; without it a signature is told, not checked.
"""

import base64
import importlib.util
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.exchange.dcc_document import DS

if TYPE_CHECKING:
    from cryptography.x509 import Certificate
    from lxml.etree import _Element as Element

NOT_CHECKED = "carries a signature; refstd did not check it"
_TIME = "{http://uri.etsi.org/01903/v1.3.2#}SigningTime"
_TRANSFORMS = (  # what may stand between the file and its digest: the signature taken out, and canonical forms
    "http://www.w3.org/2000/09/xmldsig#enveloped-signature",
    "http://www.w3.org/2006/12/xml-c14n11",
    "http://www.w3.org/2001/10/xml-exc-c14n#",
    "http://www.w3.org/TR/2001/REC-xml-c14n-20010315",
)


def signature_in_words(
    name: str, root: "Element", trusted: Sequence[bytes], read_again: Callable[[bytes], bool]
) -> str:
    """Return what a signature shows, or refuse a file that is not as it was signed.

    `trusted` are certificates in PEM; `read_again` says whether the part that is signed reads as the file did.
    """
    signatures = root.findall(f"{DS}Signature")
    if importlib.util.find_spec("signxml") is None:
        return f"{NOT_CHECKED}: pip install 'refstd[sign]' checks it"
    if len(signatures) != 1:
        return f"carries {len(signatures)} signatures; refstd did not check them: it checks one alone"
    return _checked(name, root, signatures[0], trusted, read_again)


def _checked(
    name: str, root: "Element", signature: "Element", trusted: Sequence[bytes], read_again: Callable[[bytes], bool]
) -> str:
    from cryptography import x509
    from lxml import etree
    from signxml.exceptions import SignXMLException
    from signxml.verifier import SignatureConfiguration, XMLVerifier

    references = signature.findall(f"{DS}SignedInfo/{DS}Reference")
    held = signature.findall(f"{DS}KeyInfo/{DS}X509Data/{DS}X509Certificate")
    if not held:
        return f"{NOT_CHECKED}: the signer's certificate is not in it"
    whole = [r for r in references if r.get("URI") == ""]
    used = {t.get("Algorithm") for r in whole for t in r.iter(f"{DS}Transform")}
    if len(whole) != 1 or not used <= set(_TRANSFORMS):
        return f"{NOT_CHECKED}: it does not sign the whole certificate"
    try:
        signer = x509.load_der_x509_certificate(base64.b64decode("".join((held[0].text or "").split())))
        valid = signer.not_valid_before_utc  # whether it is intact does not hang on the time; that is told apart
        config = SignatureConfiguration(location="./", expect_references=len(references), verification_time=valid)
        found = XMLVerifier().verify(etree.tostring(root), x509_cert=signer, expect_config=config)
    except (SignXMLException, ValueError, etree.LxmlError) as error:
        raise _broken(name, str(error)) from error
    results = found if isinstance(found, list) else [found]
    signed = [r.signed_xml for r in results if r.signed_xml is not None and r.signed_xml.tag == root.tag]
    if len(signed) != 1 or not read_again(etree.tostring(signed[0])):
        raise _broken(name, "what is signed is not what the file says")
    return _told(root, signature, signer, len(references), trusted)


def _broken(name: str, said: str) -> WrongUsage:
    return WrongUsage(
        f"the file is not as it was signed ({safe(said)[:100]})", f"{name}, Signature",
        "Fetch it again from the laboratory, unchanged; do not open and save it in between.",
    )  # fmt: skip


def _told(root: "Element", signature: "Element", signer: "Certificate", count: int, trusted: Sequence[bytes]) -> str:
    claimed = _claimed_time(signature)
    start, end = signer.not_valid_before_utc, signer.not_valid_after_utc
    told = [
        "its signature is intact: the file is as it was signed",
        f"signer {safe(signer.subject.rfc4514_string())}, whose certificate is valid {start:%Y-%m-%d} to {end:%Y-%m-%d}",
        f"signed {claimed:%Y-%m-%d %H:%M} UTC by the signer's word" if claimed else "no time of signing is stated",
    ]
    if claimed and not start <= claimed <= end:
        told.append("at that time the signer's certificate was not valid")
    if not trusted:
        told.append("who holds the key is not known here")
    elif claimed and _chained(root, claimed, count, trusted):
        told.append("the signer's certificate leads to one that you named as trusted")
    else:
        told.append("the signer's certificate does not lead to one that you named as trusted")
    return "; ".join((*told, "revocation was not checked"))


def _claimed_time(signature: "Element") -> datetime | None:
    stated = [e.text or "" for e in signature.iter(_TIME)]
    try:
        moment = datetime.fromisoformat(stated[0].strip()) if len(stated) == 1 else None
    except ValueError:
        return None
    return None if moment is None else moment.replace(tzinfo=moment.tzinfo or UTC).astimezone(UTC)


def _chained(root: "Element", claimed: datetime, count: int, trusted: Sequence[bytes]) -> bool:
    """Return whether the signer's certificate leads to a trusted one at the claimed time."""
    import tempfile
    from pathlib import Path

    from lxml import etree
    from signxml.exceptions import SignXMLException
    from signxml.verifier import SignatureConfiguration, XMLVerifier

    config = SignatureConfiguration(location="./", expect_references=count, verification_time=claimed)
    with tempfile.TemporaryDirectory() as folder:
        chain = Path(folder) / "trusted.pem"
        chain.write_bytes(b"\n".join(trusted))
        try:
            XMLVerifier().verify(etree.tostring(root), ca_pem_file=str(chain), expect_config=config)
        except (SignXMLException, ValueError):
            return False
    return True
