"""A Digital Calibration Certificate as a tree that can do no harm, with a note of which of its elements were understood.

The file comes from outside. It is read with nothing fetched, nothing expanded and no document type; what is not as the
standard has it is refused with its place. No schema file is needed: `dcc.py` asks for what it uses.
"""

import base64
import binascii
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

from refstd.base.errors import Problem, WrongUsage
from refstd.base.text import LONGEST_TEXT, safe
from refstd.desk.entry import day_from_words

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

LARGEST_CERTIFICATE = 20 * 1024 * 1024
DCC, SI, DS = "{https://ptb.de/dcc}", "{https://ptb.de/si}", "{http://www.w3.org/2000/09/xmldsig#}"
BY_HAND = "Ask the laboratory for a corrected file, or file the certificate by hand from its paper."
HOLDS_NUMBERS = "holds numbers"  # said of what is left, so that a table that was not read is seen
_NUMBER = re.compile(r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]{1,2})?")
_BLANKS = " \t\r\n"  # what XML counts as blank; a no-break space in a list of numbers is not one
MOST_ELEMENTS, MOST_VALUES = 100_000, 5_000  # ours: many times what a certificate holds, and read in seconds
_MOST_DIGITS = 12  # before and after the point, as the records hold
_SHOWN = 80


@dataclass(frozen=True, slots=True)
class Left:
    """Something in the file that was not understood: where it stands, and how it begins."""

    path: str
    begins: str


def certificate_bytes(path: Path) -> bytes:
    """Return a certificate file's bytes, or refuse: not there, a folder, unreadable, too large."""
    try:
        if path.is_dir():
            raise WrongUsage("that is a folder, not a file", safe(path), "Name a file.")
        with path.open("rb") as file:
            return file.read(LARGEST_CERTIFICATE + 1)  # one byte more: `Document` says that it is too large
    except FileNotFoundError as error:
        raise WrongUsage("there is no such file", safe(path), "Check its name and folder.") from error
    except OSError as error:
        raise WrongUsage(
            f"the file cannot be read: {safe(error.strerror)}", safe(path), "Check its permission."
        ) from error


class Document:
    """A certificate's tree. What is read through it counts as understood; `left` tells the rest."""

    def __init__(self, name: str, content: bytes) -> None:
        self.name = safe(name)
        self.root = _root(self.name, content)
        self._taken: set[Element] = set()
        self._by_id: dict[str, Element] = {}
        self.items: dict[Element, int] = {}  # the items that the certificate names, with their place among them
        self._values = 0
        self._steps: dict[Element, str] = {}
        self._numbered: set[Element] = set()
        for count, element in enumerate(self.root.iter("{*}*"), start=1):
            if count > MOST_ELEMENTS:
                raise WrongUsage(
                    f"it holds more than {MOST_ELEMENTS:,} elements, more than any certificate", self.name, BY_HAND
                )
            number = element.get("id")
            if number is not None and self._by_id.setdefault(number, element) is not element:
                self.refuse(f"the id '{safe(number)[:40]}' stands twice", element)

    def refuse(self, wrong: str, at: "Element", remedy: str = BY_HAND) -> None:
        """Refuse the file for what is wrong at an element."""
        raise WrongUsage(wrong, f"{self.name}, {self.path(at)}", remedy)

    def path(self, element: "Element") -> str:
        """Return the place of an element from the root on, such as items/item[2]/name."""
        steps: list[str] = []
        here: Element | None = element
        while here is not None and here is not self.root:
            above = here.getparent()
            if above is not None and above not in self._numbered:
                self._number_children(above)
            steps.append(self._steps[here])
            here = above
        return "/".join(reversed(steps)) or _local(self.root)

    def _number_children(self, parent: "Element") -> None:
        """Note the step to each child of an element, once for all: to search them for each would take the square of their number."""
        children = list(parent.iterchildren("{*}*"))
        alike = Counter(child.tag for child in children)
        seen: Counter[object] = Counter()
        for child in children:
            seen[child.tag] += 1
            place = f"[{seen[child.tag]}]" if alike[child.tag] > 1 else ""
            self._steps[child] = safe(_local(child)) + place
        self._numbered.add(parent)

    # Elements

    def every(self, parent: "Element", name: str, space: str = DCC) -> list["Element"]:
        """Return the children of a name, in their order."""
        return parent.findall(space + name)

    def maybe(self, parent: "Element", name: str, space: str = DCC) -> "Element | None":
        """Return the child of a name, or None; two are refused, since nothing says which of them counts."""
        found = self.every(parent, name, space)
        if len(found) > 1:
            self.refuse(f"'{name}' stands {len(found)} times, and nothing says which counts", parent)
        return found[0] if found else None

    def one(self, parent: "Element", name: str, space: str = DCC) -> "Element":
        """Return the child of a name, or refuse."""
        found = self.maybe(parent, name, space)
        if found is None:
            self.refuse(f"'{name}' is missing", parent)
        assert found is not None
        return found

    def take(self, element: "Element") -> "Element":
        """Note that an element was understood."""
        here: Element | None = element
        while here is not None and here not in self._taken:
            self._taken.add(here)
            here = here.getparent()
        return element

    def take_whole(self, element: "Element") -> None:
        """Note that an element was understood with everything in it."""
        self.take(element)
        self._taken.update(element.iter("{*}*"))

    def left(self) -> tuple[Left, ...]:
        """Return what was not understood, each at the highest element of which nothing was."""
        return tuple(self._left(self.root))

    def _left(self, parent: "Element") -> Iterator[Left]:
        for child in parent.iterchildren("{*}*"):
            if child in self._taken:
                yield from self._left(child)
            else:
                text = " ".join(" ".join(str(t) for t in child.itertext()).split())
                numbers = any(True for _ in child.iter(f"{SI}value", f"{SI}valueXMLList"))
                text = f"{HOLDS_NUMBERS}: {text}" if numbers else text
                yield Left(self.path(child), safe(text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"))

    # Text

    def words(self, element: "Element") -> str:
        """Return the text of an element that holds nothing else, blanks made single."""
        if len(element):  # a comment inside would hide a part of the text from who reads it
            self.refuse("holds more than text", element)
        text = " ".join((element.text or "").split())
        if len(text) > LONGEST_TEXT:
            self.refuse(f"is {len(text)} characters long, at most {LONGEST_TEXT} are kept", element)
        if safe(text) != text:
            self.refuse("contains a control or invisible character", element)
        self.take(element)
        return text

    def needed_words(self, parent: "Element", name: str, space: str = DCC) -> str:
        """Return the text of a child that must be there and not be empty."""
        element = self.one(parent, name, space)
        text = self.words(element)
        if not text:
            self.refuse("is empty", element)
        return text

    def maybe_words(self, parent: "Element", name: str, space: str = DCC) -> str:
        """Return the text of a child, '' where it is missing."""
        element = self.maybe(parent, name, space)
        return "" if element is None else self.words(element)

    def in_english(self, element: "Element | None") -> str:
        """Return a text of many languages in English, else the one without a language, else the first; '' for None."""
        if element is None:
            return ""
        contents = self.every(element, "content")
        texts = [(c.get("lang"), self.words(c)) for c in contents]
        ordered = [[t for lang, t in texts if lang == wanted] for wanted in ("en", None)] + [[t for _, t in texts]]
        return next((" ".join(found) for found in ordered[:2] if found), ordered[2][0] if texts else "")

    def named(self, parent: "Element", name: str = "name") -> str:
        """Return the English text of a child of many languages, '' where it is missing."""
        return self.in_english(self.maybe(parent, name))

    def tokens(self, element: "Element") -> list[str]:
        """Return the blank-separated parts of a list; other white space is not taken for a blank."""
        self.words(element)
        return [part for part in re.split(f"[{_BLANKS}]+", element.text or "") if part]

    def day(self, parent: "Element", name: str) -> date | None:
        """Return a civil day, None where it is missing."""
        element = self.maybe(parent, name)
        if element is None:
            return None
        found = day_from_words(self.words(element))
        if isinstance(found, Problem):
            self.refuse(found.wrong, element)
        assert isinstance(found, date)
        return found

    def number(self, text: str, at: "Element") -> Decimal:
        """Return a number with its digits as written; no NaN, no infinity, no more digits than the records hold."""
        if text.strip("+-").casefold() in ("nan", "inf", "infinity"):
            self.refuse(f"'{safe(text)}' is no value", at)
        if not _NUMBER.fullmatch(text):
            self.refuse(f"'{safe(text)[:40]}' is not a number", at)
        value = Decimal(text)
        exponent = value.as_tuple().exponent
        assert isinstance(exponent, int)
        if value.adjusted() >= _MOST_DIGITS or exponent < -_MOST_DIGITS - 12 or len(value.as_tuple().digits) > 24:
            self.refuse(f"'{safe(text)[:40]}' has more digits than can be kept", at)
        return value

    def count_values(self, count: int, at: "Element") -> None:
        """Count values that are read, and refuse a file of too many."""
        self._values += count
        if self._values > MOST_VALUES:
            self.refuse(f"it holds more than {MOST_VALUES:,} values, more than any certificate", at)

    # References and files

    def meant(self, element: "Element") -> list["Element"]:
        """Return the elements that an element's refId names; one that is not there is refused."""
        found = []
        for number in (element.get("refId") or "").split():
            target = self._by_id.get(number)
            if target is None:
                self.refuse(f"refers to '{safe(number)[:40]}', which is not in the file", element)
            assert target is not None
            found.append(target)
        return found

    def types(self, element: "Element") -> frozenset[str]:
        """Return the names of an element's refType, by which the convention tells its meaning."""
        return frozenset((element.get("refType") or "").split())

    def embedded(self, element: "Element") -> bytes:
        """Return the bytes of an embedded file, or refuse."""
        data = self.one(element, "dataBase64")
        if len(data):
            self.refuse("holds more than text", data)
        self.take(data)
        try:
            return base64.b64decode("".join((data.text or "").split()), validate=True)
        except (binascii.Error, ValueError):
            self.refuse("is not base64", data)
            raise AssertionError from None


def _local(element: "Element") -> str:
    return str(element.tag).rpartition("}")[2]


def _root(name: str, content: bytes) -> "Element":
    from lxml import etree

    if len(content) > LARGEST_CERTIFICATE:
        megabytes = LARGEST_CERTIFICATE // 2**20
        raise WrongUsage(f"the file is larger than {megabytes} MB", name, "Ask the laboratory for one without its attachments.")  # fmt: skip
    parser = etree.XMLParser(
        resolve_entities=False, no_network=True, load_dtd=False, dtd_validation=False, huge_tree=False
    )
    try:
        root = etree.fromstring(content, parser)
    except etree.XMLSyntaxError as error:
        raise _not_read(name, error) from error
    except ValueError as error:
        raise WrongUsage("the file is not XML", name, BY_HAND) from error
    kind = root.getroottree().docinfo
    if kind.doctype or kind.internalDTD is not None:
        raise WrongUsage("the file declares a document type, which no certificate needs", name, BY_HAND)
    return root


def _not_read(name: str, error: SyntaxError) -> WrongUsage:
    said, line = safe(error.msg or "")[:120], f"{name}, line {error.lineno or 1}"
    if "xcessive depth" in said or "depth in document" in said:
        return WrongUsage("its elements are nested deeper than in any certificate", line, BY_HAND)
    if "Huge" in said or "huge" in said or "too long" in said or "xmlSAX2Characters" in said:
        remedy = "An embedded file is too large. Ask the laboratory for the certificate without its attachments."
        return WrongUsage("one text in it is longer than 10 million characters", line, remedy)
    if "entit" in said.casefold():
        return WrongUsage("the file uses entities, which no certificate needs", line, BY_HAND)
    return WrongUsage(f"the file is not whole XML ({said})", line, "Fetch it again from the laboratory, unchanged.")
