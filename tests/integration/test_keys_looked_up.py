"""A caller's key is looked up with every request: by one statement, which waits for no writer."""

from sqlalchemy import event

from service.adapters.storage.keys import SqlGate
from tests.serving import MADE, key_for, migrated_app


def test_a_key_is_looked_up_by_one_statement_alone(tmp_path):
    app = migrated_app(tmp_path)
    key, engine = key_for(app), app.extensions["evenbay"].engine
    told = []

    def hear(_connection, _cursor, statement, *_):
        told.append(statement)

    event.listen(engine, "before_cursor_execute", hear)
    assert SqlGate(engine).caller(key, MADE).who.startswith("key ")
    assert [statement.split()[0] for statement in told] == ["SELECT"]


def test_a_key_is_looked_up_while_another_writes_and_keeps_no_lock(tmp_path):
    app = migrated_app(tmp_path)
    key, engine = key_for(app), app.extensions["evenbay"].engine
    gate = SqlGate(engine)
    with engine.begin() as writing:
        writing.exec_driver_sql("UPDATE keys SET label = 'renamed'")
        assert gate.caller(key, MADE).who.startswith("key ")
    with engine.begin() as writing:
        writing.exec_driver_sql("UPDATE keys SET label = 'renamed again'")
