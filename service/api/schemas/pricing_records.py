"""A loaded set of pricing rules to the domain's record, and what is wrong between its members."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from service.api.schemas.base import Complaints, Path
from service.domain.pricing.settings import (
    Discount,
    DiscountRule,
    Freight,
    FreightBand,
    Half,
    LabourRate,
    MarkupRule,
    MinimumCharge,
    PaymentTerm,
    PriceFrom,
    PricingSettings,
    Tax,
    TaxPer,
)

Loaded = Mapping[str, Any]
_HERE = ("pricing",)
_EITHER = "Send either {} or {}, and not both."


def check_pricing(pricing: Loaded, complaints: Complaints) -> None:
    """Note rules at odds with themselves or with each other."""
    _check_markups(pricing["markups"], complaints)
    step = pricing["unit_price_step"]
    if step is not None and not step:
        complaints.add((*_HERE, "unit_price_step"), "Send a step of more than zero.")
    _check_discounts(pricing, complaints)
    _check_labour(pricing, complaints)
    if pricing["freight"]:
        _check_freight(pricing["freight"], complaints)
    _check_payments(pricing["payments"], complaints)
    if pricing["taxes"] and pricing["taxes"][0]["compound"]:
        path = (*_HERE, "taxes", 0, "compound")
        complaints.add(path, "No component stands before the first; leave it out.")


def _check_markups(markups: list[Loaded], complaints: Complaints) -> None:
    path = (*_HERE, "markups")
    _refuse_repeats(path, [(rule["sku"], rule["category"]) for rule in markups], complaints)
    for index, rule in enumerate(markups):
        _check_either(rule, "markup", "margin", (*path, index), complaints)
        if rule.get("margin") == 1:
            complaints.add((*path, index, "margin"), "A margin is less than the whole price.")


def _check_discounts(pricing: Loaded, complaints: Complaints) -> None:
    path = (*_HERE, "discounts")
    rules = pricing["discounts"]
    _refuse_repeats(path, [(rule["sku"], rule["category"]) for rule in rules], complaints)
    for index, rule in enumerate(rules):
        _check_either(rule, "rate", "amount", (*path, index), complaints)
    if pricing["quote_discount"]:
        whole = (*_HERE, "quote_discount")
        _check_either(pricing["quote_discount"], "rate", "amount", whole, complaints)


def _check_labour(pricing: Loaded, complaints: Complaints) -> None:
    path = (*_HERE, "labour_rates")
    categories = [rate["category"] for rate in pricing["labour_rates"]]
    _refuse_repeats(path, [("", category) for category in categories], complaints)
    if pricing["labour_rate"] is not None and "" in categories:
        message = "labour_rate holds for all other tasks already; name a category here."
        complaints.add((*path, categories.index("")), message)


def _check_freight(freight: Loaded, complaints: Complaints) -> None:
    path = (*_HERE, "freight")
    zones = list(dict.fromkeys(band["zone"] for band in freight["bands"]))
    if freight["zone"] not in zones:
        known = ", ".join(zones)
        complaints.add((*path, "zone"), f"No band is for this zone; there are bands for: {known}.")
    seen: set[Any] = set()
    for index, band in enumerate(freight["bands"]):
        key = (band["zone"], band["up_to"] and band["up_to"].kg)
        if key in seen:
            message = "Another band of the zone ends here; give each its own weight."
            complaints.add((*path, "bands", index, "up_to"), message)
        seen.add(key)


def _check_payments(payments: list[Loaded], complaints: Complaints) -> None:
    path = (*_HERE, "payments")
    rests = 0
    for index, part in enumerate(payments):
        if "rate" in part and "amount" in part:
            complaints.add((*path, index), _EITHER.format("rate", "amount"))
        rests += "rate" not in part and "amount" not in part
        if rests > 1 and "rate" not in part and "amount" not in part:
            complaints.add((*path, index), "Only one payment can be the rest: give rate or amount.")
    rates = [part["rate"] for part in payments if "rate" in part]
    whole = len(rates) == len(payments) and sum(rates, Decimal(0)) == 1
    if payments and not rests and not whole:
        message = (
            "Let one payment be the rest, with neither rate nor amount, or give rates that add up "
            'to "1".'
        )
        complaints.add(path, message)


def _check_either(rule: Loaded, one: str, other: str, path: Path, complaints: Complaints) -> None:
    if (one in rule) == (other in rule):
        complaints.add(path, _EITHER.format(one, other))


def _refuse_repeats(path: Path, keys: list[tuple[str, str]], complaints: Complaints) -> None:
    seen: set[tuple[str, str]] = set()
    for index, key in enumerate(keys):
        if key in seen:
            what = " of ".join(word for word in key if word) or "all others"
            complaints.add((*path, index), f"A rule for {what} stands before it already.")
        seen.add(key)


def pricing_of(pricing: Loaded) -> PricingSettings:
    """Give the record of a dealer's rules."""
    rounding = pricing["rounding"] or {"tax_per": TaxPer.LINE, "half": Half.UP}
    whole, freight, minimum = (
        pricing[name] for name in ("quote_discount", "freight", "minimum_charge")
    )
    return PricingSettings(
        labour_rate=pricing["labour_rate"],
        taxes=tuple(_tax(tax) for tax in pricing["taxes"]),
        markups=tuple(_markup(rule) for rule in pricing["markups"]),
        price_from=PriceFrom(pricing["price_from"]),
        unit_price_step=pricing["unit_price_step"],
        labour_rates=tuple(LabourRate(**rate) for rate in pricing["labour_rates"]),
        discounts=tuple(
            DiscountRule(_discount(rule), rule["sku"], rule["category"])
            for rule in pricing["discounts"]
        ),
        quote_discount=_discount(whole) if whole else None,
        freight=_freight(freight) if freight else None,
        minimum=MinimumCharge(**minimum) if minimum else None,
        payments=tuple(PaymentTerm(**part) for part in pricing["payments"]),
        untaxed=frozenset(pricing["untaxed"]),
        tax_included=pricing["prices_include_tax"],
        tax_per=TaxPer(rounding["tax_per"]),
        half=Half(rounding["half"]),
    )


def _tax(tax: Loaded) -> Tax:
    return Tax(tax["name"], tax["rate"], frozenset(tax["applies_to"]), tax["compound"])


def _markup(rule: Loaded) -> MarkupRule:
    of_price = "margin" in rule
    rate = rule["margin" if of_price else "markup"]
    return MarkupRule(rate, of_price, rule["sku"], rule["category"])


def _discount(discount: Loaded) -> Discount:
    return Discount(discount["name"], discount.get("rate"), discount.get("amount"))


def _freight(freight: Loaded) -> Freight:
    bands = tuple(
        FreightBand(band["zone"], band["up_to"] and band["up_to"].kg, band["amount"])
        for band in freight["bands"]
    )
    return Freight(freight["name"], freight["zone"], bands, freight["tax_class"])
