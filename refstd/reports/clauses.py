"""Clause by clause: what a document asks of records, in our own words, and where to see it here.

A test looks at each place. Where the words come from stands beside them; where a clause is not named, nothing is claimed.
"""

from dataclasses import dataclass

from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Sheet
from refstd.reports.heading import headed
from refstd.reports.item import CLAUSES
from refstd.reports.published import QUOTED, READ

ISO_17025, PART_11 = "ISO/IEC 17025:2017", "21 CFR Part 11"


@dataclass(frozen=True, slots=True)
class Clause:
    """One thing that a document asks, and where to see it."""

    document: str
    clause: str
    asks: str
    see: str
    known: str


_ITEM = "`refstd report item ASSET`, lines 6.4.13 {letter}; on screen: the item's page, {section}"
_SECTIONS = {
    "a": "description", "b": "description", "c": "verdict, checks", "d": "loans, description", "e": "certificates, due",
    "f": "notches, certificates", "g": "due, history", "h": "findings, history",
}  # fmt: skip
ROWS = (
    *(
        Clause(ISO_17025, f"6.4.13 {letter}", asks, _ITEM.format(letter=letter, section=_SECTIONS[letter]),
               READ if letter < "g" else QUOTED)
        for letter, asks in CLAUSES.items()
    ),
    Clause(PART_11, "11.10(e), made by the computer, with time", "the trail of changes is made by the computer and says when",
           "`refstd log`; on screen: auditor, j. Each entry has the instant (UTC), which never runs backwards", QUOTED),
    Clause(PART_11, "11.10(e), who and what", "it records who entered, changed or removed what",
           "`refstd log --json`: person, how the person was known, act, and every row that the act wrote", QUOTED),
    Clause(PART_11, "11.10(e), nothing hidden", "a change does not hide the value before it",
           "a correction is a new record with its reason; both stand in the history of `refstd show ASSET`", QUOTED),
    Clause(PART_11, "11.10(e), secure", "the trail is secure",
           "the database refuses to change or delete; `refstd verify --explain` says what that stops and what only shows", QUOTED),
    Clause(PART_11, "11.10(e), kept", "it is kept as long as the records",
           "log and records lie in one file and have no act that deletes; `refstd backup` copies both", QUOTED),
    Clause(PART_11, "11.10(e), review and copy", "it can be looked at and copied",
           "`refstd log`, `refstd export --whole DIR` (log.jsonl), `refstd job-file --whole-log`", QUOTED),
)  # fmt: skip
COLUMNS = (
    Column("document", "Document", width=14),
    Column("clause", "Clause", width=14),
    Column("asks", "Asks, in our words", width=30),
    Column("see", "Where to see it", width=40),
    Column("known", "How the clause is known", width=16),
)
NOTES = (
    "This says where to look, not that a laboratory conforms: that, an assessor says of its whole practice.",
    "Choosing a person on a shared file is attribution, not protection; what a signature needs (11.50 and after) is not claimed.",
)


def clauses_sheet(lab: Lab, when: When) -> Sheet:
    """Return the table of clauses."""
    with lab.look(when) as look:
        rows = [(c.document, c.clause, c.asks, c.see, c.known) for c in ROWS]
        return headed(look, "refstd.clauses/1", "Clauses, and where to see what they ask", COLUMNS, rows, notes=NOTES)
