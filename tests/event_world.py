"""A dealer whose events are sent to a receiver on loopback, by a clock that is turned by hand."""

from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from ipaddress import ip_network

import orjson

from service.adapters.webhooks.deliverer import Deliverer
from service.adapters.webhooks.post import Postman
from tests.api.replay import request_bytes
from tests.integration.databases import url_of
from tests.receiver import receiver
from tests.serving import books_of, client_of, migrated_app

LOOPBACK = (ip_network("127.0.0.0/8"),)
NETWORKS = tuple(str(one) for one in LOOPBACK)
JSON = "application/json"


class World:
    """A service, a receiver, and a clock that is turned by hand."""

    def __init__(self, app, told):
        self.app, self.told = app, told
        self.engine = app.extensions["evenbay"].engine
        self.client = client_of(app)
        self.late = timedelta()
        self.deliverer = Deliverer(
            self.engine, Postman(LOOPBACK, seconds=10), now=self.now, chance=lambda: 1.0
        )

    def now(self):
        return datetime.now(UTC) + self.late

    def listen(self, **wish):
        made = self.client.post("/v1/webhooks", json={"url": self.told.url, **wish})
        assert made.status_code == 201, made.data
        return made.json

    def quote(self):
        made = self.client.post("/v1/quotes", data=request_bytes("quote"), content_type=JSON)
        assert made.status_code == 201, made.data
        return made.json["id"]

    def step(self, quote, step):
        body = {"store_remnants": False} if step == "cut" else {}
        taken = self.client.post(f"/v1/quotes/{quote}/{step}", json=body)
        assert taken.status_code == 200, taken.data

    def tell(self, *subjects, kind="quote.issued"):
        """Let something have happened to each of these, all at once."""
        books = books_of(self.engine)
        with books.writing() as connection:
            for subject in subjects:
                books.note(connection, self.now(), kind, subject)

    def fed(self):
        return self.client.get("/v1/events?limit=100").json["events"]

    def sent(self, hook, query=""):
        return self.client.get(f"/v1/webhooks/{hook['id']}/deliveries{query}").json["deliveries"]


@contextmanager
def event_world(kind, directory):
    """Build one on an empty database of a kind."""
    with url_of(kind, directory) as url, receiver() as told:
        app = migrated_app(url=url, webhook_networks=NETWORKS, rate_per_minute=0)
        yield World(app, told)
        app.extensions["evenbay"].engine.dispose()


def types(told):
    """Give the types of what came in, in order, without what leads them all."""
    return [orjson.loads(body)["type"].removeprefix("evenbay.") for _, _, body in told.got]


def subjects(told):
    """Give the subjects of what came in, in order."""
    return [orjson.loads(body)["subject"] for _, _, body in told.got]
