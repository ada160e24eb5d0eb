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


def test_paths_and_methods_that_callers_make_up_share_one_label(client):
    for number in range(5):
        client.get(f"/made-up/{number}")
        client.open(f"/made-up/{number}", method=f"GRAB{number}")
    counted = client.get("/metrics", headers={"Accept": "text/plain"}).text
    lines = [line for line in counted.splitlines() if line.startswith("evenbay_requests_total")]
    strange = [line for line in lines if 'route="unknown"' in line]
    assert "made-up" not in counted
    assert "GRAB" not in counted
    assert any('method="other"' in line for line in strange)
