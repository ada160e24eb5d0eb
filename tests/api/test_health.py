"""Live means the process answers, ready means that it can serve."""

from service.app import create_app
from service.settings import Settings


def test_live_and_ready(client):
    for path in ("/health/live", "/health/ready"):
        response = client.get(path)
        assert (response.status_code, response.json["status"]) == (200, "pass")


def test_a_database_without_tables_is_live_but_not_ready(tmp_path):
    app = create_app(Settings(f"sqlite:///{tmp_path / 'empty.sqlite3'}"))
    client = app.test_client()
    assert client.get("/health/live").status_code == 200
    response = client.get("/health/ready")
    assert (response.status_code, response.content_type) == (503, "application/problem+json")
    app.extensions["evenbay"].engine.dispose()
