"""Pricing rules that are kept, in versions."""

from collections.abc import Mapping
from typing import Any

import orjson

from service.api.examples import example_request
from service.api.kept_documents import Shelf, routes_of
from service.api.schemas.catalogue import PricingRulesRequest, PricingVersionRequest
from service.api.scopes import demand
from service.usecases.callers import Scope
from service.usecases.catalogue import Draft, Kind


def _draft_of(content: Mapping[str, Any], wish: Mapping[str, Any]) -> Draft:
    if wish["pricing"]["markups"]:
        demand(Scope.COSTS_READ, advice="A markup of zero would tell what parts cost.")
    return Draft(orjson.dumps(content["pricing"]), wish["note"])


blueprint = routes_of(
    Shelf(
        Kind.PRICING,
        ("PricingRules", "PricingRuleSets"),
        ("set of pricing rules", "sets of pricing rules"),
        ("/v1/pricing-rules", "pricing_rules"),
        "rules_id",
        ("KeptPricingRules", "PricingRulesPage"),
        (PricingRulesRequest(), PricingVersionRequest()),
        {"name": "Retail", "pricing": example_request("quote")["pricing"]},
        _draft_of,
        lambda kept: {"pricing": kept},
    ),
    'Rules of pricing that requests may name: {"pricing": {"stored": "Retail"}}.',
)
