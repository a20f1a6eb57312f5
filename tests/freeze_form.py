"""Write the first migration and the form's fingerprint from the tables. Only until the first release; then never again.

Run: python -m tests.freeze_form
"""

import argparse
import re
import tempfile
from pathlib import Path

from sqlalchemy.dialects import sqlite
from sqlalchemy.schema import CreateIndex, CreateTable

from refstd.register import form
from refstd.register.care import _upgrade
from refstd.register.engine import engine_for
from refstd.register.guards import fingerprint, guard_statements
from refstd.register.tables import all_tables

ROOT = Path(__file__).parent.parent

HEAD = '''"""The first form of a store: all tables and guards, as plain SQL. Frozen: it imports nothing from refstd."""

from alembic import op

revision = "0001"
down_revision = None

STATEMENTS = (
'''
TAIL = """)


def upgrade() -> None:
    for statement in STATEMENTS:
        op.execute(statement)


def downgrade() -> None:
    raise RuntimeError("there is no way down; restore the backup that was made before the upgrade")
"""


def statements() -> list[str]:
    """Return the statements that make an empty store."""
    dialect = sqlite.dialect()
    made = []
    for table in all_tables():
        made.append(str(CreateTable(table).compile(dialect=dialect)))
        made += [str(CreateIndex(i).compile(dialect=dialect)) for i in sorted(table.indexes, key=lambda i: str(i.name))]
    return [re.sub(r"\s+", " ", s).strip() for s in [*made, *guard_statements()]]


def main() -> None:
    """Write migrations/versions/m0001_first.py and refstd/register/form.py."""
    argparse.ArgumentParser(prog="python -m tests.freeze_form", description=__doc__).parse_args()
    body = "".join(f"    {s!r},\n" for s in statements())
    (ROOT / "migrations/versions/m0001_first.py").write_text(HEAD + body + TAIL)
    with tempfile.TemporaryDirectory() as folder:
        engine = engine_for(Path(folder) / "form.refstd", "create")
        with engine.begin() as connection:
            _upgrade(connection)
        with engine.connect() as connection:
            found = fingerprint(connection)
    source = Path(form.__file__).read_text()
    Path(form.__file__).write_text(re.sub(r'FINGERPRINT = ".*"', f'FINGERPRINT = "{found}"', source))


if __name__ == "__main__":
    main()
