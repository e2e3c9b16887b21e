"""Rows that the database itself refuses to change, alike on SQLite and PostgreSQL.

A table on SQLite is made anew when a later migration changes it, and loses its trigger then: that migration ends with
`refuse_changes` again. A test asks every table of the record.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.db import migrations

SAID = "rows of the record are never changed: add a new one"
FUNCTION = f"""
CREATE OR REPLACE FUNCTION refuse_change_of_the_record() RETURNS trigger AS $$
BEGIN RAISE EXCEPTION '{SAID}' USING ERRCODE = 'integrity_constraint_violation'; END;
$$ LANGUAGE plpgsql
"""


def refuse_changes(app: str, *models: str, but: Collection[str] = ("by",)) -> migrations.RunPython:
    """A step of a migration: from then on each UPDATE of these tables fails with an IntegrityError.

    `but` are fields that may change: a login that goes leaves its rows behind.
    """

    def add(apps: Any, editor: Any) -> None:
        for name in models:
            meta = apps.get_model(app, name)._meta
            columns = [field.column for field in meta.concrete_fields if field.name not in but]
            for statement in statements(editor, meta.db_table, columns):
                editor.execute(statement)

    def remove(apps: Any, editor: Any) -> None:
        for name in models:
            editor.execute(drop(editor, apps.get_model(app, name)._meta.db_table))

    return migrations.RunPython(add, remove)


def statements(editor: Any, table: str, columns: Collection[str]) -> list[str]:
    quoted = ", ".join(editor.quote_name(column) for column in columns)
    head = f"CREATE TRIGGER {trigger(editor, table)} BEFORE UPDATE OF {quoted} ON {editor.quote_name(table)}"
    if editor.connection.vendor == "postgresql":
        body = f"{head} FOR EACH ROW EXECUTE FUNCTION refuse_change_of_the_record()"
        return [FUNCTION, drop(editor, table), body]
    return [drop(editor, table), f"{head} BEGIN SELECT RAISE(ABORT, '{SAID}'); END"]


def trigger(editor: Any, table: str) -> str:
    return editor.quote_name(f"{table}_is_kept")


def drop(editor: Any, table: str) -> str:
    on = f" ON {editor.quote_name(table)}" if editor.connection.vendor == "postgresql" else ""
    return f"DROP TRIGGER IF EXISTS {trigger(editor, table)}{on}"
