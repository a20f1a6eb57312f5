"""Pieces that are counted out and in: what an item has, what was counted, what does not agree."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from refstd.base.errors import Problem
from refstd.base.text import key, safe

HOW = "Write each as NAME=COUNT, such as shim 0.05 mm=3; tip=2."
MOST = 10_000  # beyond it a count is a slip


@dataclass(frozen=True, slots=True)
class Piece:
    """So many pieces of one name."""

    name: str
    count: int

    def in_words(self) -> str:
        return f"{self.name}={self.count}"


@dataclass(frozen=True, slots=True)
class Difference:
    """A piece of which not as many came back as went out."""

    name: str
    went_out: int
    came_back: int

    def in_words(self) -> str:
        return f"{self.name}: {self.went_out} went out, {self.came_back} came back"


def in_words(pieces: Sequence[Piece]) -> str:
    """Return pieces as one line, as `pieces_from` reads it."""
    return "; ".join(p.in_words() for p in pieces)


def pieces_from(text: str) -> tuple[Piece, ...] | Problem:
    """Return the pieces that a line names, none for an empty one; or what cannot be read. No name stands twice."""
    found: dict[str, Piece] = {}
    for part in filter(None, (p.strip() for p in text.split(";"))):
        read = re.fullmatch(r"(.+?)\s*=\s*([0-9]{1,5})", part)
        if read is None or int(read[2]) > MOST or ":" in read[1]:
            return Problem("pieces", f"'{safe(part)[:40]}' is not a piece with its count", HOW)
        if key(read[1]) in found:
            return Problem("pieces", f"{safe(read[1])} stands twice", "Name each piece once.")
        found[key(read[1])] = Piece(read[1], int(read[2]))
    return tuple(found.values())


def counts_from(
    lines: Sequence[str], expected: Mapping[str, Sequence[Piece]]
) -> dict[str, tuple[Piece, ...]] | list[Problem]:
    """Return, for each item that has pieces, what was counted, in the order and by the names of what is expected.

    A line is 'shim=3; tip=2', or with the item before it where a name alone leaves it open: 'K-401: shim=3'. Each piece
    is counted once, and none that is not expected.
    """
    counted: dict[tuple[str, str], int] = {}
    problems: list[Problem] = []
    wanted = {(number, key(p.name)): p for number, pieces in expected.items() for p in pieces}
    for line in lines:
        item, colon, rest = line.partition(":")
        read = pieces_from(rest if colon else line)
        if isinstance(read, Problem):
            problems.append(Problem("count", read.wrong, read.remedy))
            continue
        for p in read:
            fits = [w for w in wanted if w[1] == key(p.name) and (not colon or key(w[0]) == key(item))]
            if len(fits) != 1:
                wrong = "is a piece of several items" if fits else "is no piece of these items that is counted"
                remedy = "Write the item before it, such as K-401: shim=3." if fits else _to_count(expected)
                problems.append(Problem("count", f"{safe(p.name)} {wrong}", remedy))
            elif fits[0] in counted:
                problems.append(Problem("count", f"{safe(p.name)} of {fits[0][0]} is counted twice", "Count it once."))
            else:
                counted[fits[0]] = p.count
    missing = [f"{w[0]}: {p.name}" for w, p in wanted.items() if w not in counted]
    if missing and not problems:
        problems.append(Problem("count", f"not counted: {', '.join(missing)}", _to_count(expected)))
    if problems:
        return problems
    return {
        number: tuple(Piece(p.name, counted[number, key(p.name)]) for p in pieces)
        for number, pieces in expected.items()
        if pieces
    }


def _to_count(expected: Mapping[str, Sequence[Piece]]) -> str:
    has = "; ".join(f"{number}: {', '.join(p.name for p in pieces)}" for number, pieces in expected.items() if pieces)
    return f"Count them and give each count (--count NAME=COUNT). Counted are {has}." if has else "Leave the count out."


def differences(went_out: Sequence[Piece], came_back: Sequence[Piece]) -> tuple[Difference, ...]:
    """Return the pieces of which not as many came back as went out: fewer, or more."""
    back = {key(p.name): p.count for p in came_back}
    return tuple(
        Difference(p.name, p.count, back[key(p.name)]) for p in went_out if back.get(key(p.name), p.count) != p.count
    )
