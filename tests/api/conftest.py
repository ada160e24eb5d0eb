"""One application on its own database for all tests of the API."""

from contextlib import ExitStack

import orjson
import pytest

from tests.api.replay import request_bytes
from tests.integration.databases import served
from tests.serving import client_of, key_for


@pytest.fixture(scope="session")
def app(tmp_path_factory):
    with served(tmp_path_factory.mktemp("data")) as app:
        yield app


@pytest.fixture(scope="session")
def key(app):
    return key_for(app)


@pytest.fixture
def client(app, key):
    return client_of(app, key)


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


@pytest.fixture
def serve(tmp_path):
    """A function that gives the service on a database of its own, with settings."""
    with ExitStack() as serving:

        def serve(**settings):
            return serving.enter_context(served(tmp_path, **settings))

        yield serve
