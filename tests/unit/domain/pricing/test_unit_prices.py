"""Unit prices are made of the parts that may be ordered, not of every row of a table."""

from datetime import date
from decimal import Decimal

from service.domain.pricing.price_table import PriceRow, PriceTable
from service.domain.pricing.settings import MarkupRule, PricingSettings
from service.domain.pricing.unit_prices import first_prices

DAY = date(2026, 11, 25)
RULES = PricingSettings(None, (), (MarkupRule(Decimal("0.5"), of_price=False),))


class NeverWalked(dict):
    """Rows that may be looked up, and never gone through."""

    def __iter__(self):
        raise AssertionError("somebody goes through thousands of rows")

    keys = values = items = __iter__


def test_only_what_may_be_ordered_is_looked_at():
    listed, made = PriceRow("A", Decimal(5), "C62"), PriceRow("B", None, "C62", cost=Decimal(4))
    table = PriceTable("", "USD", NeverWalked(A=(listed,), B=(made,), C=(listed,)))
    wanted = {"A": "", "B": "trim", "none": ""}
    assert first_prices(table, DAY, RULES, wanted) == {"A": Decimal(5), "B": Decimal("6.00")}
