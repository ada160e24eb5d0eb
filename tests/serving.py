"""Applications, dealers and keys for tests: a real database, and a caller who may call."""

from datetime import UTC, datetime

from flask.testing import FlaskClient

from service.adapters.storage import migrate
from service.adapters.storage.books import Books
from service.adapters.storage.keys import dealer_named, new_key
from service.app import create_app
from service.settings import Settings, sqlite_url
from service.usecases.callers import KeyWish, Scope

DEALER = "Larkmere Deck & Rail"
# What a change sends that does not care what it changes (RFC 9110, 13.1.1).
ANY = {"If-Match": "*"}
MADE = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def migrated_app(directory=None, url="", **settings):
    """Build the service on a database brought up to date."""
    app = create_app(Settings(url or sqlite_url(directory), **settings))
    migrate.upgrade(app.extensions["evenbay"].engine)
    return app


def key_for(app, dealer=DEALER, scopes=tuple(Scope), **wish):
    """Make a key, by default one that may do everything."""
    with app.extensions["evenbay"].engine.begin() as connection:
        owner = dealer_named(connection, dealer, MADE)
        return new_key(connection, owner, KeyWish("test", scopes, **wish), MADE)[1]


def client_of(app, key=None) -> FlaskClient:
    """Give a client that shows a key with everything it asks."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {key or key_for(app)}"
    return client


def books_of(engine, dealer=DEALER):
    """Open a dealer's books, entering the dealer if there is none."""
    with engine.begin() as connection:
        owner = dealer_named(connection, dealer, MADE)
    return Books(engine, owner, "test")
