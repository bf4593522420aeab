"""How the logbook's file came to have its tables: one SQL file per change, applied in order of name."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from importlib.resources import files

from sqlite_utils import Database, Migrations

READ_MODELS = "0002_read_models"
AUDIT = "0005_audit"
BOARD = "0007_board"
NAMES = (
    "0001_log", READ_MODELS, "0003_devices", "0004_trails", AUDIT, "0006_calipers", BOARD,
    "0008_lenses",
)  # fmt: skip
MIGRATIONS = Migrations("tiltbook")


def statements(script: str) -> Iterator[str]:
    """Yield the statements of an SQL script one by one, so that all can share one transaction."""
    pending = ""
    for line in script.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            yield pending.strip()
            pending = ""
    if pending.strip():
        raise ValueError(f"the script ends inside a statement: {pending.strip()[:60]}")


def statements_of(name: str) -> Iterator[str]:
    """Yield the statements of one change."""
    return statements(files(__name__).joinpath(f"{name}.sql").read_text("utf-8"))


def _register(name: str) -> None:
    def migrate(db: Database) -> None:
        for statement in statements_of(name):
            db.conn.execute(statement)

    MIGRATIONS(name=name)(migrate)


for _name in NAMES:
    _register(_name)


def unknown_to_this_version(db: Database) -> tuple[str, ...]:
    """Return the changes a file has gone through that this version does not know."""
    if not db[MIGRATIONS.migrations_table].exists():
        return ()
    sql = f"SELECT name, applied_at FROM {MIGRATIONS.migrations_table} WHERE migration_set = ?"
    names = [str(name) for name, _ in db.conn.execute(sql, (MIGRATIONS.name,))]
    return tuple(sorted(name for name in names if name not in NAMES))
