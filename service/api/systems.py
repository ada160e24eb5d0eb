"""Railing systems that are kept, in versions."""

from collections.abc import Mapping
from typing import Any

import orjson

from service.api.examples import example_request
from service.api.kept_documents import Shelf, routes_of
from service.api.schemas.catalogue import KeptSystemRequest, SystemVersionRequest
from service.usecases.catalogue import Draft, Kind


def _draft_of(content: Mapping[str, Any], wish: Mapping[str, Any]) -> Draft:
    return Draft(orjson.dumps(content["system"]), wish["note"])


blueprint = routes_of(
    Shelf(
        Kind.SYSTEM,
        ("System", "Systems"),
        ("railing system", "railing systems"),
        ("/v1/systems", "systems"),
        "system_id",
        ("KeptSystem", "SystemPage"),
        (KeptSystemRequest(), SystemVersionRequest()),
        {"name": "Larkmere 36", "system": example_request("quote")["system"]},
        _draft_of,
        lambda kept: {"system": kept},
    ),
    'Railing systems that requests may name: {"system": {"stored": "Larkmere 36"}}.',
)
