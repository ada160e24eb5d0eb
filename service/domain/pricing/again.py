"""An order that is kept, priced again: the same parts and hours, other prices.

The lines come out as those of ``quote.price`` for the items that the material was made of, but for
what prices do not touch: descriptions, lengths and elements stand in the quote that was priced
first, and so do conditions, for weights are not kept.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal

from service.domain.errors import CurrencyMismatch
from service.domain.money import minor_unit
from service.domain.pricing.amounts import rounded
from service.domain.pricing.charges import FREIGHT, ONE
from service.domain.pricing.drafts import Draft, drafts_of
from service.domain.pricing.material import MaterialLine
from service.domain.pricing.price_table import PriceTable
from service.domain.pricing.quote import Priced, add_up
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR, PricingSettings
from service.domain.takeoff.parts import Item, LabourItem


def price_again(
    lines: Iterable[MaterialLine],
    table: PriceTable,
    settings: PricingSettings,
    on: date,
    currency: str,
    conditions: tuple[str, ...] = (),
) -> Priced:
    """Price the material of a quote.

    Args:
        lines: Goods before labour before charges, as ``material_of`` gives them.
        table: Prices, of which those in force on the day are taken.
        settings: The rules that the quote was priced by; a run changes none of them.
        on: Day whose prices are in force.
        currency: Of the quote.
        conditions: What its totals left out and why; they stay as they were.

    Raises:
        NoPriceInForce: Parts have no price, or one for another unit or pack.
        InvalidPricing: A rule does not fit what is priced.
        TooLarge: A line's amount passes the bound of the service.
        CurrencyMismatch: The table is in another currency.

    Example:
        >>> from service.domain.pricing.material import Part
        >>> from service.domain.pricing.price_table import PriceRow
        >>> post = Part("goods", "P", "", "post", "C62", 1, "")
        >>> table = PriceTable("", "USD", {"P": (PriceRow("P", Decimal("38.25"), "C62"),)})
        >>> kept = [MaterialLine(post, Decimal(4), Decimal("140.00"))]
        >>> again = price_again(kept, table, PricingSettings(None, ()), date(2026, 3, 1), "USD")
        >>> again.totals.gross
        Money(amount=Decimal('153.00'), currency='USD')
    """
    if table.currency != currency:
        raise CurrencyMismatch(
            f"The quote is in {currency}, and the price table {table.name} in {table.currency}.",
            advice="Price it by a table in its own currency.",
        )
    kept = tuple(lines)
    drafts = drafts_of(
        [_item(line) for line in _of_kind(kept, GOODS)],
        [_task(line) for line in _of_kind(kept, LABOUR)],
        table,
        settings,
        on,
    )
    charges = tuple(_charge(line, settings, currency) for line in _of_kind(kept, CHARGE))
    return add_up(drafts, charges, conditions, table, settings)


def _of_kind(lines: Sequence[MaterialLine], kind: str) -> list[MaterialLine]:
    return [line for line in lines if line.part.kind == kind]


def _item(line: MaterialLine) -> Item:
    part = line.part
    return Item(
        sku=part.sku,
        description="",
        category=part.category,
        needed=line.quantity,
        ordered=line.quantity,
        unit_of_measure=part.unit_of_measure,
        pack_size=part.pack_size or 1,
        elements=(),
    )


def _task(line: MaterialLine) -> LabourItem:
    return LabourItem(line.part.name, line.quantity * 60, (), line.part.category)


def _charge(line: MaterialLine, settings: PricingSettings, currency: str) -> Draft:
    part = line.part
    return Draft(
        CHARGE,
        "",
        part.name,
        part.category,
        Decimal(1),
        ONE,
        _before_rounding(line, settings, currency),
        part.tax_class,
    )


def _before_rounding(line: MaterialLine, settings: PricingSettings, currency: str) -> Decimal:
    """Give the amount that the rules print for carriage; it may be finer than the kept one."""
    step = minor_unit(currency)
    bands = settings.freight.bands if settings.freight else ()
    if line.part.category == FREIGHT:
        for band in bands:
            if rounded(band.amount, step, settings.half) == line.amount:
                return band.amount
    return line.amount
