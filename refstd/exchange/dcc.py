"""Reading a Digital Calibration Certificate (DCC 3.2 and 3.3, the open XML standard): what was understood, and what was left.

The whole file is refused when something in it is not as the standard has it, or could be read in two ways: nothing is
repaired and nothing is guessed. What is merely not used is told with its place. A signature is checked in `dcc_signature.py`.
"""

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from refstd.base.errors import WrongUsage
from refstd.base.quantity import Unit
from refstd.base.text import safe
from refstd.exchange.dcc_document import BY_HAND, DCC, DS, SI, Document, Left
from refstd.exchange.dcc_results import ValueRead, rule_of, values_in
from refstd.exchange.dcc_signature import signature_in_words
from refstd.exchange.dcc_units import in_unit, shown, unit_read

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_VERSION = re.compile(r"3\.[23]\.[0-9]+")
_CHANGES = ("amended", "substituted")
# What must read the same from the part of the file that is signed. A signature's wrapping can put another part beside it.
_SIGNED = ("number", "laboratory", "performed_on", "items", "parts", "statements", "change", "replaces")


@dataclass(frozen=True, slots=True)
class ItemOnPaper:
    """An item as the certificate names it: numbers as (who gave it, number), such as ('owner', 'B-102')."""

    name: str
    model: str
    made_by: str
    numbers: tuple[tuple[str, str], ...]

    def numbered(self, *issuers: str) -> tuple[str, ...]:
        """Return the numbers that one of these gave it."""
        return tuple(number for issuer, number in self.numbers if issuer in issuers)


@dataclass(frozen=True, slots=True)
class Part:
    """One `measurementResult`: of which items its values are, how, by what, under which conditions, and the values.

    `temperature_c` is None unless one temperature, not a range, is stated.
    """

    name: str
    items: tuple[int, ...]
    methods: tuple[str, ...]
    standards: tuple[str, ...]
    conditions: tuple[str, ...]
    temperature_c: Decimal | None
    values: tuple[ValueRead, ...]


@dataclass(frozen=True, slots=True)
class Understood:
    """What a certificate says, and what of it was not understood. Dates are civil; nothing in it is ours yet."""

    file: str
    content: bytes
    sha256: str
    version: str
    number: str
    laboratory: str
    accreditation: str
    received_on: date | None
    begun_on: date
    performed_on: date
    issued_on: date | None
    performed_at: str
    signers: tuple[str, ...]
    customer: str
    items: tuple[ItemOnPaper, ...]
    parts: tuple[Part, ...]
    statements: tuple[str, ...]
    recalibrate_on: date | None
    change: str  # amended or substituted, ''
    replaces: str
    files: tuple[str, ...]
    signatures: int
    left: tuple[Left, ...]
    signed: str = ""  # what its signature shows, in words

    @property
    def values(self) -> tuple[ValueRead, ...]:
        """Return every value of every part."""
        return tuple(v for p in self.parts for v in p.values)


def understood_from(name: str, content: bytes, trusted: Sequence[bytes] = ()) -> Understood:
    """Read a certificate, or refuse it whole with what is wrong, where, and what to do.

    `trusted` are certificates (PEM) to which a signer's own may lead.
    """
    doc = Document(name, content)
    found = _understood(doc, content)
    if not found.signatures:
        return found

    def read_again(signed: bytes) -> bool:
        again = _understood(Document(name, signed), signed)
        return all(getattr(again, f) == getattr(found, f) for f in _SIGNED)

    return replace(found, signed=signature_in_words(doc.name, doc.root, trusted, read_again))


def _understood(doc: Document, content: bytes) -> Understood:
    root = doc.root
    if root.tag != f"{DCC}digitalCalibrationCertificate":
        wrong = "the file is XML, but not a Digital Calibration Certificate"
        raise WrongUsage(wrong, f"{doc.name}, {safe(root.tag)[:80]}", "Name the certificate's own XML file.")
    version = root.get("schemaVersion") or ""
    if not _VERSION.fullmatch(version):
        wrong = f"version '{safe(version)[:20]}' of the certificate's form is not known"
        raise WrongUsage(wrong, f"{doc.name}, schemaVersion", f"Known are 3.2 and 3.3. {BY_HAND}")
    doc.take(root)
    data = doc.take(doc.one(root, "administrativeData"))
    core, laboratory = doc.one(data, "coreData"), doc.one(data, "calibrationLaboratory")
    items = _items(doc, doc.one(data, "items"))
    dates = {n: doc.day(core, f"{n}Date") for n in ("receipt", "beginPerformance", "endPerformance", "issue")}
    begun_on, performed_on = dates["beginPerformance"], dates["endPerformance"]
    if begun_on is None or performed_on is None:
        doc.refuse("the days on which it was performed are missing", core)
    assert begun_on is not None
    assert performed_on is not None
    if performed_on < begun_on or (dates["issue"] is not None and dates["issue"] < performed_on):
        doc.refuse("its days do not follow each other: begun, ended, issued", core)
    number = doc.needed_words(core, "uniqueIdentifier")
    change, replaces = _replaced(doc, core)
    statements, recalibrate_on = _statements(doc, data)
    parts = tuple(_part(doc, p) for p in doc.every(doc.one(root, "measurementResults"), "measurementResult"))
    if not parts:
        doc.refuse("it has no measurement result", root)
    contact = doc.one(laboratory, "contact")
    laboratory_name = doc.in_english(doc.one(contact, "name"))
    if not laboratory_name:
        doc.refuse("the laboratory has no name", contact)
    signatures = doc.every(root, "Signature", DS)
    for signature in signatures:
        doc.take_whole(signature)
    _language(doc, core)
    return Understood(
        doc.name, content, hashlib.sha256(content).hexdigest(), version, number, laboratory_name,
        doc.maybe_words(laboratory, "calibrationLaboratoryCode"), dates["receipt"], begun_on, performed_on, dates["issue"],
        doc.needed_words(core, "performanceLocation"), _signers(doc, data), doc.named(doc.one(data, "customer")), items, parts,
        statements, recalibrate_on, change, replaces, _files(doc), len(signatures), doc.left(),
    )  # fmt: skip


def _language(doc: Document, core: "Element") -> None:
    for name in ("countryCodeISO3166_1", "usedLangCodeISO639_1", "mandatoryLangCodeISO639_1"):
        for element in doc.every(core, name):
            doc.words(element)


def _replaced(doc: Document, core: "Element") -> tuple[str, str]:
    change = doc.maybe(core, "reportAmendedSubstituted")
    if change is None:
        return "", ""
    what = doc.needed_words(change, "typeOfChange")
    if what not in _CHANGES:
        doc.refuse(f"'{what[:40]}' is neither amended nor substituted", change)
    return what, doc.needed_words(change, "replacedUniqueIdentifier")


def _items(doc: Document, held: "Element") -> tuple[ItemOnPaper, ...]:
    """Return the items, those within others too; which element is which is kept for what refers to them."""
    found: list[ItemOnPaper] = []

    def read(element: "Element") -> None:
        maker = doc.maybe(element, "manufacturer")
        numbers = [
            (doc.needed_words(i, "issuer"), doc.needed_words(i, "value"))
            for i in doc.every(doc.one(element, "identifications"), "identification")
        ]
        for identification in doc.every(doc.one(element, "identifications"), "identification"):
            doc.named(identification)
        doc.items[element] = len(found)
        found.append(
            ItemOnPaper(
                doc.in_english(doc.one(element, "name")),
                doc.maybe_words(element, "model"),
                "" if maker is None else doc.named(maker),
                tuple(numbers),
            )
        )
        for within in doc.every(element, "subItems"):
            for item in doc.every(within, "item"):
                read(item)

    for item in doc.every(held, "item"):
        read(item)
    if not found:
        doc.refuse("it names no item", held)
    return tuple(found)


def _signers(doc: Document, data: "Element") -> tuple[str, ...]:
    found = []
    for person in doc.every(doc.one(data, "respPersons"), "respPerson"):
        name, role = doc.named(doc.one(person, "person")), doc.maybe_words(person, "role")
        doc.maybe_words(person, "mainSigner")
        found.append(f"{name}, {role}" if role else name)
    return tuple(found)


def _statements(doc: Document, data: "Element") -> tuple[tuple[str, ...], date | None]:
    """Return the statements in words, and the day by which the customer wishes it to be calibrated again."""
    told: list[str] = []
    wished: list[date] = []
    for held in doc.every(data, "statements"):
        for element in doc.every(held, "statement"):
            _, rule = rule_of(doc, element)
            conformity = doc.maybe_words(element, "conformity")
            says = doc.in_english(doc.maybe(element, "declaration"))
            about = [f"states {conformity}"] if conformity else []
            references = [doc.words(r) for r in doc.every(element, "reference")]
            told.append(": ".join(x for x in (", ".join(x for x in (rule, *references, *about) if x), says) if x))
            day = doc.day(element, "date")
            if day is not None and "basic_recalibration" in doc.types(element):
                wished.append(day)
    return tuple(t for t in told if t), min(wished, default=None)


def _part(doc: Document, element: "Element") -> Part:
    conditions, temperatures = _conditions(doc, element)
    values = [
        v
        for held in doc.every(element, "results")
        for result in doc.every(held, "result")
        for v in values_in(doc, result, [element])
    ]
    if not doc.every(doc.one(element, "results"), "result"):
        doc.refuse("it has no result", element)
    return Part(
        doc.named(element), tuple(dict.fromkeys(v.item for v in values)), _methods(doc, element),
        _standards(doc, element), conditions, temperatures[0] if len(set(temperatures)) == 1 else None, tuple(values),
    )  # fmt: skip


def _methods(doc: Document, part: "Element") -> tuple[str, ...]:
    found = []
    for held in doc.every(part, "usedMethods"):
        for method in doc.every(held, "usedMethod"):
            norms = [doc.words(e) for name in ("norm", "reference") for e in doc.every(method, name)]
            name = doc.in_english(doc.one(method, "name"))
            found.append(f"{name} ({', '.join(norms)})" if norms else name)
    return tuple(found)


def _standards(doc: Document, part: "Element") -> tuple[str, ...]:
    """Return what it was measured with, with its number, its certificate, and whether that is said to be traceable."""
    found = []
    for held in doc.every(part, "measuringEquipments"):
        for used in doc.every(held, "measuringEquipment"):
            told = [doc.in_english(doc.one(used, "name")), doc.maybe_words(used, "model")]
            for numbers in doc.every(used, "identifications"):
                for identification in doc.every(numbers, "identification"):
                    doc.maybe_words(identification, "issuer")
                    told.append(doc.needed_words(identification, "value"))
            paper = doc.maybe(used, "certificate")
            if paper is not None:
                told.append(f"certificate {doc.needed_words(paper, 'referralID')} of {doc.named(paper, 'referral')}")
                for name, not_so in (
                    ("traceable", "not traceable"),
                    ("inValidityRange", "outside its range of validity"),
                ):
                    stated = doc.maybe_words(paper, name)
                    told += [f"stated as {not_so}"] if stated in ("false", "0") else []
            found.append(", ".join(t for t in told if t))
    return tuple(found)


def _conditions(doc: Document, part: "Element") -> tuple[tuple[str, ...], list[Decimal]]:
    """Return the conditions in words, temperatures in K and °C, and each ambient temperature in °C."""
    told: list[str] = []
    temperatures: list[Decimal] = []
    for held in doc.every(part, "influenceConditions"):
        for condition in doc.every(held, "influenceCondition"):
            status = doc.maybe_words(condition, "status")
            values = []
            for data in doc.every(condition, "data"):
                for quantity in doc.every(data, "quantity"):
                    value = _condition_value(doc, quantity)
                    if value is None:
                        continue
                    name = doc.named(quantity)
                    values.append(f"{name} {shown(*value)}".strip())
                    celsius = in_unit(*value, Unit.CELSIUS)
                    if "basic_temperature" in doc.types(condition) and celsius is not None:
                        temperatures.append(celsius)
            words = [status] if status else []
            told.append(
                f"{doc.in_english(doc.one(condition, 'name'))}: {', '.join(words + values)}"
            ) if words or values else None
    return tuple(told), temperatures


def _condition_value(doc: Document, quantity: "Element") -> tuple[Decimal, str] | None:
    """Return a single value in a unit that is known; another one is left, for no verdict rests on it."""
    held = doc.maybe(quantity, "real", SI)
    unit_at = None if held is None else doc.maybe(held, "unit", SI)
    unit = None if unit_at is None or len(unit_at) else unit_read(unit_at.text or "")
    if held is None or unit_at is None or unit is None:
        return None
    doc.words(unit_at)
    at = doc.one(held, "value", SI)
    return unit.ours(doc.number(doc.words(at), at)), unit.unit


def _files(doc: Document) -> tuple[str, ...]:
    """Return the embedded files, each with its type, size and hash. They stay in the certificate and are not opened."""
    found = []
    for data in doc.root.iter(f"{DCC}dataBase64"):
        held = data.getparent()
        assert held is not None
        content = doc.embedded(held)
        name, kind = doc.needed_words(held, "fileName"), doc.needed_words(held, "mimeType")
        doc.named(held)
        found.append(f"{name} ({kind}, {len(content)} bytes, SHA-256 {hashlib.sha256(content).hexdigest()})")
    return tuple(found)
