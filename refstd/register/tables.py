"""All tables in one place, for those who need the whole form of a store."""

from sqlalchemy import Table

from refstd.register import (
    certificates,
    checks,
    custody,
    equipment,
    findings,
    log,
    parts,
    people,
    procedures,
    requirements,
)
from refstd.register.columns import Base

MODULES = (log, people, equipment, certificates, procedures, requirements, checks, custody, findings, parts)


def all_tables() -> list[Table]:
    """Return every table in the order in which they can be made."""
    return list(Base.metadata.sorted_tables)


def kept_tables() -> list[Table]:
    """Return the tables that are written once and replayed from the log: all but the log, the store and the now tables."""
    return [t for t in all_tables() if not t.info.get("now") and t.name not in ("log_entry", "store")]


def now_tables() -> list[Table]:
    """Return the few tables whose rows come and go."""
    return [t for t in all_tables() if t.info.get("now")]
