"""schemathesis holds the application against its own document, with every check on.

EVENBAY_THOROUGH=1 generates more, and takes minutes.
"""

import os
import tempfile
from pathlib import Path

import orjson
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from schemathesis.config import SchemathesisConfig

from tests.api.replay import request_bytes
from tests.serving import key_for, migrated_app

_data = tempfile.TemporaryDirectory(prefix="evenbay-")
app = migrated_app(Path(_data.name))
KEY = key_for(app)


def uncompressed(serve):
    """Serve without gzip: schemathesis asks a WSGI application for it, and does not decode it."""

    def plain(environ, start_response):
        environ.pop("HTTP_ACCEPT_ENCODING", None)
        return serve(environ, start_response)

    return plain


app.wsgi_app = uncompressed(app.wsgi_app)

THOROUGH = bool(os.environ.get("EVENBAY_THOROUGH"))
schema = schemathesis.openapi.from_wsgi(
    "/v1/openapi.json",
    app,
    config=SchemathesisConfig.from_path(
        Path(__file__).with_name("schemathesis.toml" if THOROUGH else "schemathesis-quick.toml")
    ),
)


@schema.auth()
class Shown:
    """Shows the key with every request but those that try to do without."""

    def get(self, case, context):
        return KEY

    def set(self, case, data, context):
        case.headers["Authorization"] = f"Bearer {data}"


# Whole orders are large to generate, and shrinking one takes minutes.
GENERATED = settings(
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@schema.parametrize()
@settings(GENERATED, max_examples=100 if THOROUGH else 12)
def test_every_operation_keeps_to_the_document(case):
    case.call_and_validate()


OF_WHAT_WAS_MADE = (
    "getQuote", "getDrawing", "getQuoteState", "acceptQuote", "declineQuote", "getOffcut",
    "getQuoteCosts", "printQuote", "printSiteSheets", "printCodeReport",
)  # fmt: skip


class Reader(schema.as_state_machine()):
    """Makes quotes from the demo order, which no generator would hit upon, and follows links."""

    read = 0

    def before_call(self, case):
        if case.operation.definition.raw["operationId"] == "createQuote":
            case.body = orjson.loads(request_bytes("quote"))
            case.media_type = "application/json"

    def after_call(self, response, case):
        made_before = case.operation.definition.raw["operationId"] in OF_WHAT_WAS_MADE
        Reader.read += made_before and response.status_code == 200


def test_what_is_made_can_be_read():
    Reader.run(settings=settings(GENERATED, max_examples=30, stateful_step_count=8))
    assert Reader.read >= 5
