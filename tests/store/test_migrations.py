"""The tables come to be by migrations, go by them, and are those that the models declare."""

from __future__ import annotations

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import inspect, text

from scheduler.store import Record, RecordError, RecordUnreachable
from scheduler.store.engine import make_engine, transaction
from scheduler.store.migrating import downgrade, newest, upgrade
from scheduler.store.tables import Base
from tests.builders import a_scenario


def tables(record: Record) -> set[str]:
    with record.reading() as unit:
        return set(inspect(unit.connection).get_table_names())


def test_migrating_twice_changes_nothing_more(empty: Record) -> None:
    assert empty.schema_state().present is None
    empty.migrate()
    with empty.writing() as unit:
        unit.fleet.replace(a_scenario())
    empty.migrate()
    assert empty.schema_state().current
    with empty.reading() as unit:
        assert unit.fleet.load() == a_scenario()


def test_models_and_migrations_agree(record: Record) -> None:
    with record.reading() as unit:
        context = MigrationContext.configure(unit.connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []
    assert tables(record) == set(Base.metadata.tables) | {"alembic_version"}


def test_constraints_of_models_and_migrations_have_the_same_names(record: Record) -> None:
    with record.reading() as unit:
        inspector = inspect(unit.connection)
        for table in Base.metadata.tables.values():
            declared = {str(constraint.name) for constraint in table.constraints}
            found = {str(check["name"]) for check in inspector.get_check_constraints(table.name)}
            found |= {str(key["name"]) for key in inspector.get_foreign_keys(table.name)}
            found.add(str(inspector.get_pk_constraint(table.name)["name"]))
            assert found == declared, table.name


def test_every_step_goes_down_and_up_again(empty: Record) -> None:
    engine = make_engine(empty.url)
    with transaction(engine, writes=True) as connection:
        upgrade(connection)
    for revision in ("0003", "0002", "0001", "base"):
        with transaction(engine, writes=True) as connection:
            downgrade(connection, revision)
            assert ("plans" in inspect(connection).get_table_names()) == (revision == "0003")
    assert tables(empty) == {"alembic_version"}
    for revision in ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010", "0011"):
        with transaction(engine, writes=True) as connection:
            upgrade(connection, revision)
    engine.dispose()
    assert empty.schema_state().present == newest() == "0011"
    with empty.writing() as unit:
        unit.fleet.replace(a_scenario())


def test_a_failing_migration_leaves_the_tables_as_they_were(empty: Record) -> None:
    engine = make_engine(empty.url)
    with pytest.raises(ZeroDivisionError), transaction(engine, writes=True) as connection:
        upgrade(connection, "0002")
        raise ZeroDivisionError
    engine.dispose()
    assert empty.schema_state().present is None
    assert "jobs" not in tables(empty)


def test_tables_of_a_newer_soakline_are_left_alone(record: Record) -> None:
    with record.writing() as unit:
        unit.connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(RecordError, match=r"newer Soakline .*9999"):
        record.migrate()


def test_a_database_without_tables_says_how_to_make_them(empty: Record) -> None:
    with pytest.raises(RecordUnreachable, match="holds no record yet"), empty.reading() as unit:
        unit.fleet.version()
