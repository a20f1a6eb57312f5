"""Reading the register from CSV files: every problem of every file is listed, and all is written in one act or nothing.

Files are those of `kinds.py`. A number that is on record already is refused, never described anew; a person or an
authority that is on record exactly as the file has it is passed over, so that an export can be read into a new store
whose first custodian is among the people.
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from refstd.base.errors import BadInput, NotFound, Problem, Refusal, WrongUsage
from refstd.base.text import key, safe
from refstd.desk.entry import Draft, read_draft
from refstd.desk.people import may
from refstd.exchange.cells import Row, Table, content_of, table_from
from refstd.exchange.keeping import KEEP, Record
from refstd.exchange.kinds import KINDS, Kind
from refstd.register.lab import Change, Lab


@dataclass(frozen=True, slots=True)
class Source:
    """A file to read: its kind, the name that problems call it by, its bytes."""

    kind: str
    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import put on record (or would): how many rows of each kind, what was there already, what to watch."""

    counts: tuple[tuple[str, int], ...]
    unchanged: int
    warnings: tuple[str, ...]


class _OnlyChecked(Exception):
    """Leaves the act of a dry run, so that it is undone."""


@dataclass(slots=True)
class _Reading:
    """What was read so far. `failed` holds the numbers of records that could not be read or kept; `blind` is set when a
    whole file could not be read: what then seems missing may only be missing because of that."""

    problems: list[Problem] = field(default_factory=list)
    failed: set[str] = field(default_factory=set)
    blind: bool = False


@dataclass(frozen=True, slots=True)
class _Line:
    """A row as a draft, with where it stands. `record` names the record that the row completes."""

    table: Table
    row: Row
    draft: Draft
    record: tuple[str, ...]


def sources_in(folder: Path) -> tuple[Source, ...]:
    """Return the files of a folder that are named for a kind; other files are left alone."""
    found = [Source(kind.name, kind.file, content_of(folder / kind.file)) for kind in KINDS.values() if (folder / kind.file).is_file()]  # fmt: skip
    if not found:
        names = ", ".join(kind.file for kind in KINDS.values())
        raise WrongUsage("the folder holds no file of a name that is known", safe(folder), f"Name them {names}.")
    return tuple(found)


def kind_named(name: str) -> str:
    """Return the kind that a file's name or --kind says, or refuse."""
    form = name.lower().removesuffix(".csv")
    if form not in KINDS:
        raise WrongUsage(
            f"'{safe(name)[:60]}' does not say what kind of records it holds", "",
            f"Name the file for its kind, or give --kind: one of {', '.join(KINDS)}.",
        )  # fmt: skip
    return form


def import_files(
    lab: Lab,
    sources: Sequence[Source],
    *,
    by: str,
    now: datetime,
    only_check: bool = False,
    whole_register: bool = True,
    operation: str = "",
) -> Imported:
    """Put the records of CSV files on record in one act, or refuse with every problem of every file.

    `only_check` finds the same problems and writes nothing. `whole_register` asks for the permission to import; without
    it the acting person needs only the permission for each kind that is there.
    """
    reading = _Reading()
    lines = _lines(sources, reading)
    done: list[Imported] = []
    try:
        with lab.change(by=by, now=now, operation=operation) as change:
            if whole_register:
                may(change, "import")
            done.append(_keep_all(change, lines, reading))
            if reading.problems:
                raise BadInput("import", _in_order(reading.problems, sources))
            if only_check:
                raise _OnlyChecked
            files = [{"name": s.name, "sha256": hashlib.sha256(s.content).hexdigest()} for s in sources]
            change.record("imported", files=files, rows=dict(done[0].counts))
    except _OnlyChecked:
        pass
    return done[0]


def one_record(sources: Sequence[Source]) -> Record:
    """Return the one record that files hold, with the rows that complete it, for a correction; refuse more or fewer."""
    reading = _Reading()
    lines = _lines(sources, reading)
    if reading.problems:
        raise BadInput("correction", _in_order(reading.problems, sources))
    main = [(KINDS[name], line) for name, rows in lines.items() if not KINDS[name].belongs_to for line in rows]
    if len(main) != 1:
        raise WrongUsage(
            f"the file holds {len(main)} records",
            safe(sources[0].name),
            "A correction is for one record; give one row.",
        )
    return _record(*main[0], lines)


def _in_order(problems: Sequence[Problem], sources: Sequence[Source]) -> list[Problem]:
    """Return the problems file by file and row by row, each once."""
    names = [safe(s.name) for s in sources]

    def place(problem: Problem) -> tuple[int, int]:
        file = next((i for i, name in enumerate(names) if problem.where.startswith(name)), len(names))
        row = re.search(r", row (\d+)", problem.where)
        return file, int(row[1]) if row else 0

    return sorted(dict.fromkeys(problems), key=place)


def _lines(sources: Sequence[Source], reading: _Reading) -> dict[str, list[_Line]]:
    """Return the rows of every file as drafts, by kind; problems go to `reading`."""
    lines: dict[str, list[_Line]] = {}
    for source in sources:
        kind = KINDS[source.kind]
        if source.kind in lines:
            raise WrongUsage(f"two files hold {source.kind}", safe(source.name), "Put their rows into one file.")
        table, problems = table_from(source.name, source.content, kind.columns, may_be_empty=True)
        reading.problems += problems
        reading.blind = reading.blind or bool(problems)
        lines[source.kind] = []
        for row in table.rows:
            _read_row(kind, table, row, lines[source.kind], reading)
        reading.problems += _twice(kind, lines[source.kind])
    if not any(lines.values()) and not reading.problems:
        raise WrongUsage("there is no row to import", "", "Give at least one below the column names.")
    for name in list(lines):
        _refuse_strays(KINDS[name], lines, reading)
    return lines


def _read_row(kind: Kind, table: Table, row: Row, lines: list[_Line], reading: _Reading) -> None:
    values = {column: cell for column, cell in row.cells.items() if column not in kind.by and cell}
    draft, problems = read_draft(kind.draft, values, table.where(row))
    problems += [
        Problem(table.where(row, column), "is missing", "Give a value.")
        for column in kind.by
        if not row.cells.get(column)
    ]
    record = tuple(key(row.cells.get(name, "")) for name in kind.by or kind.names)
    if draft is None or problems:
        reading.problems += problems
        reading.failed |= {record[0]} if record else set()
        return
    lines.append(_Line(table, row, draft, record))


def _twice(kind: Kind, lines: Sequence[_Line]) -> list[Problem]:
    """Return a problem for each record that stands twice in its own file."""
    if not kind.names:
        return []
    seen: dict[tuple[str, ...], Row] = {}
    problems = []
    for line in lines:
        if all(line.record) and line.record in seen:
            where = line.table.where(line.row, kind.names[0])
            number = line.row.cells.get(kind.names[0], "")
            problems.append(
                Problem(
                    where,
                    f"'{safe(number)[:40]}' stands in row {seen[line.record].number} too",
                    "Keep one of the two rows.",
                )
            )
        seen.setdefault(line.record, line.row)
    return problems


def _refuse_strays(kind: Kind, lines: Mapping[str, list[_Line]], reading: _Reading) -> None:
    """Add a problem for each row that completes a record that no row of these files enters."""
    if not kind.belongs_to or reading.blind:
        return
    known = {line.record for line in lines.get(kind.belongs_to, [])}
    for line in lines[kind.name]:
        if line.record not in known and line.record[0] not in reading.failed:
            shown = " ".join(line.row.cells.get(name, "") for name in kind.by)
            reading.problems.append(
                Problem(
                    line.table.where(line.row, kind.by[0]), f"{KINDS[kind.belongs_to].file} has no row for '{safe(shown)[:60]}'",
                    f"Import {kind.file} together with {KINDS[kind.belongs_to].file}.",
                )
            )  # fmt: skip


def _keep_all(change: Change, lines: Mapping[str, list[_Line]], reading: _Reading) -> Imported:
    """Add the rows of every record in order; what is refused is undone alone and listed, so that all is found at once."""
    counts: list[tuple[str, int]] = []
    warnings: list[str] = []
    unchanged = 0
    for kind in KINDS.values():
        rows = lines.get(kind.name, [])
        if kind.belongs_to:
            counts += [(kind.name, len(rows))] if rows else []
            continue
        kept = 0
        for line in rows:
            record = _record(kind, line, lines)
            savepoint = change.session.begin_nested()
            try:
                new = KEEP[kind.name](change, record, warnings)
                savepoint.commit()
            except Refusal as refusal:
                savepoint.rollback()
                _refused(kind, line, record, refusal, reading)
                continue
            kept, unchanged = kept + new, unchanged + (not new)
        counts += [(kind.name, kept)] if rows else []
    return Imported(tuple(counts), unchanged, tuple(dict.fromkeys(warnings)))


def _record(kind: Kind, line: _Line, lines: Mapping[str, list[_Line]]) -> Record:
    parts = {
        part.name: tuple(x for x in lines.get(part.name, []) if x.record == line.record)
        for part in KINDS.values()
        if part.belongs_to == kind.name
    }
    return Record(
        line.draft,
        {name: tuple(x.draft for x in found) for name, found in parts.items()},
        {name: tuple(x.table.where(x.row) for x in found) for name, found in parts.items()},
    )


def _refused(kind: Kind, line: _Line, record: Record, refusal: Refusal, reading: _Reading) -> None:
    """List why a record was refused, unless it is only the consequence of a problem that is listed already."""
    consequence = isinstance(refusal, NotFound) and (
        reading.blind or any(key(cell) in reading.failed for cell in line.row.cells.values() if cell)
    )
    reading.failed.add(line.record[0] if line.record else "")
    if consequence:
        return
    where = line.table.where(line.row)
    if isinstance(refusal, BadInput):
        reading.problems += [Problem(_place(where, record, p.where), p.wrong, p.remedy) for p in refusal.problems]
        return
    detail = f" ({refusal.where})" if refusal.where else ""
    reading.problems.append(Problem(where, f"{refusal.wrong}{detail}", refusal.remedy))


_PARTS = {"notch": "notches", "value": "values", "limit": "limits", "target": "targets"}


def _place(where: str, record: Record, inner: str) -> str:
    """Return where a problem inside a record stands: 'notch 2 (1.0 mm)' is the row of that notch in its own file."""
    found = re.match(r"(notch|value|limit|target) (\d+)\b", inner)
    places = record.places.get(_PARTS[found[1]], ()) if found else ()
    if found and 0 < int(found[2]) <= len(places):
        return f"{places[int(found[2]) - 1]}, {inner}"
    return f"{where}, {inner}" if inner else where
