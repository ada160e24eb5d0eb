"""Bringing a database to the tables this version of the service needs."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.script.revision import ResolutionError
from alembic.util.exc import CommandError
from sqlalchemy import Engine

from service.usecases.outages import StoreUnusable

HERE = Path(__file__).parent / "migrations"


def _config(engine: Engine) -> Config:
    config = Config()
    config.set_main_option("script_location", str(HERE).replace("%", "%%"))
    config.attributes["engine"] = engine
    return config


def upgrade(engine: Engine, revision: str = "head") -> None:
    """Apply the migrations up to a revision; those already applied are left alone.

    Raises:
        StoreUnusable: The database was brought further by a later version of the service.
    """
    try:
        command.upgrade(_config(engine), revision)
    except CommandError as error:
        if not isinstance(error.__cause__, ResolutionError):
            raise
        raise StoreUnusable("the database is of a later version of the service") from None


def downgrade(engine: Engine, revision: str) -> None:
    """Take migrations back to a revision, "base" for an empty database."""
    command.downgrade(_config(engine), revision)


def is_current(engine: Engine) -> bool:
    """Tell whether the database is at the newest revision."""
    with engine.connect() as connection:
        held = MigrationContext.configure(connection).get_current_revision()
    return held == ScriptDirectory.from_config(_config(engine)).get_current_head()
