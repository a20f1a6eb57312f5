"""${message}

Rules: import nothing from refstd (a migration is frozen, the code moves on). Prefer plain ADD COLUMN. Never rewrite log
entries. Batch mode drops triggers: make them anew in the same migration. No CASCADE. There is no way down: `downgrade`
says to restore the backup.
"""

from alembic import op

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}


def upgrade() -> None:
    ${upgrades if upgrades else "..."}


def downgrade() -> None:
    raise RuntimeError("there is no way down; restore the backup that was made before the upgrade")
