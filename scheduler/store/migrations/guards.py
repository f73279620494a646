"""Triggers by which the database itself refuses to change or remove what was recorded for good."""

from __future__ import annotations

from alembic import op

_REFUSE = "soakline_refuse"


def make_refusal() -> None:
    """What PostgreSQL's triggers call; SQLite's carry it themselves."""
    if op.get_context().dialect.name == "postgresql":
        op.execute(
            f"CREATE FUNCTION {_REFUSE}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN"
            " RAISE EXCEPTION 'rows of % are kept as they were recorded', TG_TABLE_NAME"
            " USING ERRCODE = 'restrict_violation'; END $$"
        )


def drop_refusal() -> None:
    """Undo :func:`make_refusal`."""
    if op.get_context().dialect.name == "postgresql":
        op.execute(f"DROP FUNCTION {_REFUSE}()")


def keep_rows(table: str, columns: tuple[str, ...] = ()) -> None:
    """Refuse to remove rows of a table, and to change them (or only these columns of them)."""
    part = f" OF {', '.join(columns)}" if columns else ""
    for name, action in ((f"{table}_no_change", f"UPDATE{part}"), (f"{table}_no_removal", "DELETE")):
        if op.get_context().dialect.name == "postgresql":
            act = f"EXECUTE FUNCTION {_REFUSE}()"
            op.execute(f"CREATE TRIGGER {name} BEFORE {action} ON {table} FOR EACH ROW {act}")
        else:
            words = f"rows of {table} are kept as they were recorded"
            op.execute(
                f"CREATE TRIGGER {name} BEFORE {action} ON {table} BEGIN SELECT RAISE(ABORT, '{words}'); END"
            )
    if op.get_context().dialect.name == "postgresql":
        op.execute(
            f"CREATE TRIGGER {table}_no_emptying BEFORE TRUNCATE ON {table}"
            f" FOR EACH STATEMENT EXECUTE FUNCTION {_REFUSE}()"
        )
