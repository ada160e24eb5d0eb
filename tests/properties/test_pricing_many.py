"""Many orders priced at once come to what each comes to alone, to the smallest unit."""

import random
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.domain.pricing.many.chunk import Came
from service.domain.pricing.settings import Discount, Half, MinimumCharge, PriceFrom, TaxPer
from tests.properties.many_quotes import check, job_of


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.randoms(use_true_random=False))
def test_many_come_to_what_each_comes_to(rng):
    check(*job_of(rng, quotes=6))


def test_ten_thousand_quotes():
    rng = random.Random(20261125)
    came, singly = Counter(), 0
    for _ in range(400):
        many = check(*job_of(rng))
        came.update(Came(int(one)) for one in many.came)
        singly += many.singly
    assert came.total() == 10_000
    assert came[Came.PRICED] > 6_000
    assert came[Came.NO_PRICE] > 500
    assert came[Came.REFUSED] > 200
    assert 300 < singly < 2_500


TERMS = {
    "per line": {"tax_per": TaxPer.LINE, "tax_included": False},
    "per line, included": {"tax_per": TaxPer.LINE, "tax_included": True},
    "per document": {"tax_per": TaxPer.DOCUMENT, "tax_included": False},
    "per document, included": {"tax_per": TaxPer.DOCUMENT, "tax_included": True},
    "half even": {"half": Half.EVEN},
    "made prices": {"price_from": PriceFrom.COST},
    "a discount of the quote": {"quote_discount": Discount("off", rate=Decimal("0.0725"))},
    "a minimum": {"minimum": MinimumCharge("Small", Decimal("5000.125"), "reduced")},
}


def rounder(tax):
    """Whole percents; many finer rates held in prices together do not fit 64 bits."""
    return replace(tax, rate=tax.rate.quantize(Decimal("0.01")))


@pytest.mark.parametrize("terms", TERMS)
def test_each_rule_is_reckoned_at_once(terms):
    """What is not odd is not priced one by one, whatever the rules are."""
    rng, quotes, singly = random.Random(terms), 0, 0
    while quotes < 600:
        kept, parts, table, rules = job_of(rng, quotes=20, oddly=0)
        rules = replace(
            rules,
            **{"quote_discount": None, **TERMS[terms]},
            taxes=tuple(map(rounder, rules.taxes[:2])),
            payments=(),
            untaxed=frozenset(("charge", "exempt", "reduced")),
        )
        many = check(kept, parts, table, rules)
        quotes += len(kept)
        singly += many.singly
    assert singly == 0
