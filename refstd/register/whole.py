"""The whole of a store in an open form, and a store made again from it, with the same log and so the same head.

The form is a folder: `log.jsonl`, every log entry as one line of canonical JSON with its members as kept; `papers/`, the
bytes of every paper under their SHA-256; `checkpoint.txt`, the head as SEQUENCE:HASH. The entries hold every row as it was
kept, so nothing else is needed: what follows from the facts (the now tables) is made anew.
"""

import hashlib
import json
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DBAPIError

from refstd.base.errors import StoreUnusable, WrongUsage
from refstd.base.text import safe
from refstd.register.care import making_lab, open_lab
from refstd.register.engine import FORMAT, in_words
from refstd.register.integrity import NOW_FROM_FACTS, Checkpoint, verify_lab
from refstd.register.lab import Lab
from refstd.register.log import FIRST_PREVIOUS, HASHED, Head, entries, entry_line, hash_of, head
from refstd.register.tables import kept_tables

LOG, PAPERS, CHECKPOINT = "log.jsonl", "papers", "checkpoint.txt"


def write_whole(lab: Lab, folder: Path) -> tuple[Head, int]:
    """Write the whole store into a folder that is new or empty; return the head and how many papers there are."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise WrongUsage("the folder is not empty", safe(folder), "Name a new folder.")
        with lab.engine.execution_options(look=True).connect() as connection:
            top = head(connection)
            with (folder / LOG).open("xb") as file:
                for entry in entries(connection, upto=top.sequence):
                    file.write(f"{entry_line(entry)}\n".encode())
            papers = _write_papers(connection, folder / PAPERS)
        (folder / CHECKPOINT).write_text(f"{top.sequence}:{top.hash}\n", encoding="ascii")
    except OSError as error:
        raise WrongUsage(
            f"the folder cannot be written: {safe(error.strerror)}", safe(folder), "Name another folder."
        ) from error
    except DBAPIError as error:
        raise in_words(error, lab.path) from error
    return top, papers


def _write_papers(connection: Connection, folder: Path) -> int:
    folder.mkdir()
    count = 0
    for (content,) in connection.execution_options(yield_per=1).execute(text("SELECT content FROM attachment")):
        (folder / hashlib.sha256(content).hexdigest()).write_bytes(content)
        count += 1
    return count


def make_again(folder: Path, path: Path) -> Head:
    """Make a store at `path`, where nothing may stand, from the whole of one; the store is verified before it is named.

    Refused whole, with the place, when an entry was altered or left out, a paper is not the one that was attached, or the
    log does not end in the checkpoint that lies beside it.
    """
    lines = _entries_in(folder)
    first = next(lines, None)
    if first is None:
        raise StoreUnusable(
            "the log is empty", safe(folder / LOG), "Name the folder that `refstd export --whole` wrote."
        )
    checkpoint = _checkpoint_in(folder)
    tables = {t.name: {c.name for c in t.columns} for t in kept_tables()}
    with making_lab(path, "create", *_identity(first, folder)) as lab:
        try:
            with lab.engine.begin() as connection:
                for entry in chain([first], lines):
                    _bring_back(connection, entry, folder, tables)
                for name, columns, facts in NOW_FROM_FACTS:
                    connection.execute(text(f"INSERT INTO {name} ({columns}) {facts}"))
        except DBAPIError as error:
            raise StoreUnusable(
                f"the records do not fit a store of this form: {safe(error.orig)}", safe(folder / LOG),
                "Read it with the version of refstd that wrote it, or a later one.",
            ) from error  # fmt: skip
        found = verify_lab(lab, deep=True, checkpoint=checkpoint)
        if not found.whole or found.head is None or found.head.sequence != checkpoint.sequence:
            wrong = found.problems[0] if found.problems else "the log goes on behind the checkpoint"
            raise StoreUnusable(f"what was read does not verify: {wrong}", safe(folder), _AGAIN)
        made = found.head
    open_lab(path).close()
    return made


def _entries_in(folder: Path) -> Iterator[dict[str, Any]]:
    """Yield the entries of the log as they lie in the folder, each checked against the one before."""
    previous, number = FIRST_PREVIOUS, 0
    try:
        with (folder / LOG).open("rb") as file:
            for number, line in enumerate(file, 1):
                entry = _entry_in(line, f"{LOG}, line {number}")
                if entry["sequence"] != number or entry["previous"] != previous:
                    raise StoreUnusable("the entry does not follow on the one before", f"{LOG}, line {number}", _AGAIN)
                if hash_of(entry) != entry["hash"]:
                    raise StoreUnusable("the entry was altered", f"{LOG}, line {number}", _AGAIN)
                previous = entry["hash"]
                yield entry
    except OSError as error:
        raise StoreUnusable(
            f"there is no log that can be read: {safe(error.strerror)}", safe(folder / LOG), "Name the folder that `refstd export --whole` wrote."
        ) from error  # fmt: skip


def _entry_in(line: bytes, where: str) -> dict[str, Any]:
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise StoreUnusable("the line is not a log entry", where, _AGAIN) from error
    kinds = {name: int if name == "sequence" else str for name in (*HASHED, "hash")}
    if not isinstance(entry, dict) or {n: type(v) for n, v in entry.items()} != kinds:
        raise StoreUnusable("the line is not a log entry", where, _AGAIN)
    return entry


def _identity(first: dict[str, Any], folder: Path) -> tuple[str, str, int]:
    try:
        reader = int(json.loads(first["body"])["details"]["min_reader"])
    except (ValueError, LookupError, TypeError) as error:
        raise StoreUnusable("the first entry does not say what store it is", safe(folder / LOG), _AGAIN) from error
    if reader > FORMAT:
        raise StoreUnusable(
            "the store was made by a later refstd", safe(folder / LOG), "Install that version or a later one."
        )
    return first["chain"], first["recorded_at"], reader


def _checkpoint_in(folder: Path) -> Checkpoint:
    try:
        sequence, _, digest = (folder / CHECKPOINT).read_text(encoding="ascii").strip().partition(":")
        return Checkpoint(int(sequence), digest)
    except (OSError, ValueError) as error:
        raise StoreUnusable("the checkpoint cannot be read", safe(folder / CHECKPOINT), _AGAIN) from error


def _bring_back(connection: Connection, entry: dict[str, Any], folder: Path, tables: dict[str, set[str]]) -> None:
    """Write the rows of an entry, and then the entry, as one act did."""
    where = f"{LOG}, line {entry['sequence']}"
    try:
        rows = [(r["table"], dict(r["row"])) for r in json.loads(entry["body"])["rows"]]
    except (ValueError, LookupError, TypeError, RecursionError) as error:
        raise StoreUnusable("the entry's rows cannot be read", where, _AGAIN) from error
    for table, row in rows:
        unknown = sorted(set(row) - tables.get(table, set()))
        if table not in tables or unknown:
            what = f"a table '{safe(table)}'" if table not in tables else f"{table}.{safe(unknown[0])}"
            raise StoreUnusable(
                f"this refstd knows no {what}", where, "Read it with the version of refstd that wrote it."
            )
        values = {n: _paper(folder, v, where) if isinstance(v, dict) else v for n, v in row.items()}
        _insert(connection, table, values)
    _insert(connection, "log_entry", entry)


def _insert(connection: Connection, table: str, values: dict[str, Any]) -> None:
    names, marks = ", ".join(values), ", ".join(f":{n}" for n in values)
    connection.execute(text(f"INSERT INTO {table} ({names}) VALUES ({marks})"), values)


def _paper(folder: Path, kept: dict[str, Any], where: str) -> bytes:
    digest = str(kept.get("sha256", ""))
    if not (len(digest) == 64 and digest.isalnum()):
        raise StoreUnusable("the entry names no paper that could be read", where, _AGAIN)
    try:
        content = (folder / PAPERS / digest).read_bytes()
    except OSError as error:
        raise StoreUnusable("a paper is missing", f"{PAPERS}/{digest}", _AGAIN) from error
    if hashlib.sha256(content).hexdigest() != digest:
        raise StoreUnusable("a paper is not the one that was attached", f"{PAPERS}/{digest}", _AGAIN)
    return content


_AGAIN = "Export the store again with `refstd export --whole`; nothing was written."
