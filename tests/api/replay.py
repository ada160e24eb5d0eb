"""The requests in openapi/examples, their answers, and what of an answer is the same every time.

``python -m tests.api.replay`` writes the answers anew after a change that is meant.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import orjson
from flask.testing import FlaskClient

EXAMPLES = Path(__file__).parents[2] / "openapi" / "examples"
READABLE = orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE
KINDS = (
    "code-check",
    "layout",
    "takeoff",
    "cut-plan",
    "offcut",
    "quote",
    "price-comparison",
)


def names() -> list[str]:
    """Give the name of every example, such as "metric-quote"."""
    return sorted(
        path.name.removesuffix("-request.json") for path in EXAMPLES.glob("*-request.json")
    )


def route(name: str) -> str:
    """Give the path that takes an example."""
    resource = next(kind for kind in KINDS if name.endswith(kind))
    return f"/v1/{resource}s"


def request_bytes(name: str) -> bytes:
    return (EXAMPLES / f"{name}-request.json").read_bytes()


def response_path(name: str) -> Path:
    return EXAMPLES / f"{name}-response.json"


def settled(answer: bytes) -> dict:
    """Give an answer without what differs each time: the id, the day and the version."""
    content = orjson.loads(answer)
    shown = "00000000-0000-4000-8000-000000000000"
    if "links" in content:
        content["links"] = {
            name: link and link.replace(content["id"], shown)
            for name, link in content["links"].items()
        }
        content["series"] = shown
        content |= {"created_on": content["on"], "service_version": "0"}
    if "id" in content:
        content["id"] = shown
    return content


def replay(client: FlaskClient, name: str) -> tuple[int, bytes]:
    response = client.post(route(name), data=request_bytes(name), content_type="application/json")
    return response.status_code, response.data


def write() -> None:
    """Write every answer."""
    from tests.api import replay_runs
    from tests.serving import client_of, migrated_app

    with TemporaryDirectory() as directory:
        client = client_of(migrated_app(Path(directory)))
        for name in names():
            status, answer = replay(client, name)
            if status >= 400:
                raise SystemExit(f"{name}: {answer.decode()}")
            response_path(name).write_bytes(orjson.dumps(settled(answer), option=READABLE))
    with TemporaryDirectory() as directory:
        replay_runs.write(migrated_app(Path(directory)))


if __name__ == "__main__":
    write()
