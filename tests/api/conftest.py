"""One application on its own database for all tests of the API."""

import orjson
import pytest

from service.adapters.storage import migrate
from service.app import create_app
from service.settings import Settings, sqlite_url
from tests.api.replay import request_bytes


@pytest.fixture(scope="session")
def app(tmp_path_factory):
    app = create_app(Settings(sqlite_url(tmp_path_factory.mktemp("data"))))
    engine = app.extensions["evenbay"].engine
    migrate.upgrade(engine)
    yield app
    engine.dispose()


@pytest.fixture
def client(app):
    return app.test_client()


@pytest.fixture
def post(client):
    """Posts bytes or a text as JSON."""

    def post(path, body, content_type="application/json"):
        return client.post(path, data=body, content_type=content_type)

    return post


@pytest.fixture
def order():
    """The demo order, free to be changed."""
    return orjson.loads(request_bytes("quote"))
