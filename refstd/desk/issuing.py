"""Issuing a report: the log keeps the hash of the bytes that left the lab, so that a copy can be proved later."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select

from refstd.base.errors import Refusal
from refstd.desk.people import may
from refstd.register.columns import instant_from
from refstd.register.lab import Lab, Look, When
from refstd.register.log import LogEntry

ACTION = "report issued"


@dataclass(frozen=True, slots=True)
class Issued:
    """A report that was issued: its file name, the SHA-256 of its bytes, and the log entry that keeps it."""

    name: str
    sha256: str
    size: int
    entry: int
    issued_at: datetime
    person: str


def issue_report(lab: Lab, name: str, content: bytes, *, by: str, now: datetime, operation: str = "") -> str:
    """Keep in the log that these bytes were issued under a name; return their SHA-256.

    The bytes themselves are not kept: the same question as at the same instant gives them again.
    """
    with lab.change(by=by, now=now, operation=operation) as change:
        may(change, "issue a report")
        if not name.strip():
            raise Refusal("an issued report needs a name", "", "Give its file name.")
        if not content:
            raise Refusal("an empty report is not issued", name, "Ask for a report that has content.")
        digest = hashlib.sha256(content).hexdigest()
        change.record(ACTION, report=name.strip(), sha256=digest, bytes=len(content))
        return digest


def issued_reports(lab: Lab, when: When) -> tuple[Issued, ...]:
    """Return every report that was issued, oldest first."""
    with lab.look(when) as look:
        return issued_in(look)


def issued_as(lab: Lab, content: bytes, when: When) -> tuple[str, tuple[Issued, ...]]:
    """Return the SHA-256 of a paper in hand, and every time that these very bytes were issued, oldest first."""
    digest = hashlib.sha256(content).hexdigest()
    with lab.look(when) as look:
        return digest, tuple(x for x in issued_in(look) if x.sha256 == digest)


def issued_in(look: Look) -> tuple[Issued, ...]:
    """Return every report that was issued, within a look."""
    rows = look.session.execute(
        select(LogEntry.sequence, LogEntry.recorded_at, LogEntry.person, LogEntry.body)
        .where(LogEntry.action == ACTION, LogEntry.sequence <= look.upto)
        .order_by(LogEntry.sequence)
    )
    found = []
    for sequence, recorded_at, person, body in rows:
        kept = json.loads(body)["details"]
        moment = recorded_at if isinstance(recorded_at, datetime) else instant_from(recorded_at)
        found.append(Issued(kept["report"], kept["sha256"], kept["bytes"], sequence, moment, person))
    return tuple(found)
