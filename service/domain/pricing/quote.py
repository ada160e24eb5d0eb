"""From items and hours to priced lines and totals that add up.

Rounding has these places, all half up unless half to even is declared:

    made unit price      unit_prices.py, to the declared step or the minor unit
    hours of a task      ``LabourItem.hours``, 0.01 h, always half up
    amount of a line     quantity x unit price, here
    discount of a line   discounts.py
    discount of a quote  discounts.py, then shared out over the lines
    tax component        tax.py, per line, or per document and then shared out over the lines
    part of a payment    payments.py, adding up to the gross

Totals are sums of rounded lines and are never rounded again.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.domain.errors import InvalidPricing, TooLarge
from service.domain.money import Money, minor_unit
from service.domain.pricing.amounts import EXACT, rounded, total
from service.domain.pricing.charges import carriage, lifted
from service.domain.pricing.discounts import discounts_on
from service.domain.pricing.drafts import Draft, drafts_of
from service.domain.pricing.lines import Line, LineDiscount, LineTax, Payment, Totals
from service.domain.pricing.payments import schedule
from service.domain.pricing.price_table import PriceTable
from service.domain.pricing.settings import CHARGE, GOODS, LABOUR, PricingSettings
from service.domain.pricing.tax import Taxable, taxes_on, total_taxes
from service.domain.takeoff.parts import Item, LabourItem

# A line above this is a slip in a price or quantity; below it every sum of the quote is exact.
MAX_LINE = Decimal(10**12)


@dataclass(frozen=True, slots=True)
class Priced:
    """What an order comes to.

    Attributes:
        payments: Add up to the gross; empty where no schedule was asked for.
        conditions: What the totals leave out and why, in words.
        drafts: Goods and labour before they were reckoned, with their costs.
        charges: Carriage before it was reckoned.
    """

    lines: tuple[Line, ...]
    totals: Totals
    payments: tuple[Payment, ...]
    conditions: tuple[str, ...]
    drafts: tuple[Draft, ...]
    charges: tuple[Draft, ...]


def price(
    items: Iterable[Item],
    labour: Iterable[LabourItem],
    table: PriceTable,
    settings: PricingSettings,
    on: date,
) -> Priced:
    """Price what was taken off.

    Args:
        items: Parts with ordered quantities.
        labour: Time for each task.
        table: Prices, in one currency.
        settings: The dealer's rules.
        on: Day whose prices are in force.

    Returns:
        Lines numbered from 1, goods before labour before charges, and their totals.

    Raises:
        NoPriceInForce: Parts have no price, or one for another unit; all of them are named.
        InvalidPricing: A rule does not fit what is priced.
        TooLarge: A line's amount passes the bound of the service.
    """
    wanted = tuple(items)
    drafts = drafts_of(wanted, labour, table, settings, on)
    freight = carriage(settings.freight, wanted) if settings.freight else None
    charges = (freight.draft,) if freight and freight.draft else ()
    conditions = (freight.condition,) if freight and freight.condition else ()
    return add_up(drafts, charges, conditions, table, settings)


def add_up(
    drafts: Sequence[Draft],
    charges: tuple[Draft, ...],
    conditions: tuple[str, ...],
    table: PriceTable,
    settings: PricingSettings,
) -> Priced:
    """Reckon drafts, and what they come to together.

    Args:
        drafts: Goods and labour.
        charges: Carriage.
        conditions: What the totals leave out and why.
        table: The drafts' prices.
        settings: The dealer's rules.

    Raises:
        InvalidPricing: A rule does not fit what is priced.
        TooLarge: A line's amount passes the bound of the service.
    """
    refuse_unmet_classes(table, settings)
    lines = reckon(drafts, charges, settings, table.currency)
    totals = _totals(lines, settings, table.currency)
    payments = schedule(totals.gross, settings)
    return Priced(lines, totals, payments, conditions, tuple(drafts), charges)


def reckon(
    drafts: Sequence[Draft], charges: Sequence[Draft], settings: PricingSettings, currency: str
) -> tuple[Line, ...]:
    """Turn drafts into lines: amounts, discounts, the minimum, taxes.

    Args:
        drafts: Goods and labour.
        charges: Which no discount is taken from, and which no minimum counts.
        settings: The dealer's rules.
        currency: Of every price.
    """
    amounts = [_amount(draft, currency, settings) for draft in drafts]
    discounts = discounts_on(drafts, amounts, settings, currency)
    left = [_less(amount, off) for amount, off in zip(amounts, discounts, strict=True)]
    if settings.minimum:
        lift = lifted(settings.minimum, sum(left, Decimal(0)))
        charges = [*charges, lift] if lift else charges
    asked = [_amount(draft, currency, settings) for draft in charges]
    every = [*drafts, *charges]
    _refuse_unknown_classes(every, settings)
    left += asked
    taxables = [Taxable(amount, d.tax_class) for amount, d in zip(left, every, strict=True)]
    taxes = taxes_on(taxables, settings, currency)
    return tuple(
        _line(number, *figures, included=settings.tax_included, currency=currency)
        for number, figures in enumerate(
            zip(
                every,
                [*amounts, *asked],
                [*discounts, *[()] * len(asked)],
                left,
                taxes,
                strict=True,
            ),
            start=1,
        )
    )


def _amount(draft: Draft, currency: str, settings: PricingSettings) -> Decimal:
    """Multiply exactly and round once, to the minor unit."""
    amount = EXACT.multiply(draft.quantity, draft.unit_price)
    if abs(amount) > MAX_LINE:
        raise TooLarge(
            f"The line {draft.name} comes to {amount:.2E} {currency}; "
            f"at most {MAX_LINE:.0E} is quoted.",
            element=draft.name,
            advice="Check its unit price and the quantity of its rule.",
        )
    return rounded(amount, minor_unit(currency), settings.half)


def _less(amount: Decimal, discounts: Iterable[LineDiscount]) -> Decimal:
    return amount - sum((off.amount.amount for off in discounts), Decimal(0))


def _refuse_unknown_classes(drafts: Iterable[Draft], settings: PricingSettings) -> None:
    """A class that no tax names may be a slip of the pen; only the old kinds may stay unsaid."""
    if not settings.taxes:
        return
    named = {GOODS, LABOUR, *settings.untaxed}.union(*(tax.applies_to for tax in settings.taxes))
    unknown = {draft.tax_class: draft.name for draft in drafts if draft.tax_class not in named}
    if unknown:
        told = "; ".join(f"{tax_class!r} of {name}" for tax_class, name in unknown.items())
        raise InvalidPricing(
            f"Nothing says whether these tax classes are taxed: {told}.",
            where=("pricing", "taxes"),
            advice="Name each in applies_to of a tax, or in untaxed.",
        )


def refuse_unmet_classes(table: PriceTable, settings: PricingSettings) -> None:
    """Refuse a tax class that nothing bears: it is a slip of the pen in a tax.

    Raises:
        InvalidPricing: A class of the rules stands in no row and no charge.
    """
    named = settings.untaxed.union(*(tax.applies_to for tax in settings.taxes))
    others = named - {GOODS, LABOUR, CHARGE}
    if not others:
        return
    met = {row.tax_class for rows in table.rows.values() for row in rows}
    met |= {c.tax_class for c in (settings.freight, settings.minimum) if c}
    if others - met:
        raise InvalidPricing(
            f"No price row and no charge has the tax class {', '.join(sorted(others - met))}.",
            where=("pricing", "taxes"),
            advice="Use goods, labour, charge, or a tax_class of the price table.",
        )


def _line(
    number: int,
    draft: Draft,
    amount: Decimal,
    discounts: tuple[LineDiscount, ...],
    left: Decimal,
    taxes: tuple[LineTax, ...],
    *,
    included: bool,
    currency: str,
) -> Line:
    tax = sum((component.amount.amount for component in taxes), Decimal(0))
    return Line(
        number=number,
        kind=draft.kind,
        sku=draft.sku,
        description=draft.description,
        category=draft.category,
        quantity=draft.quantity,
        unit_of_measure=draft.unit_of_measure,
        unit_price=Money(draft.unit_price, currency),
        amount=Money(amount, currency),
        discounts=discounts,
        net=Money(left - tax if included else left, currency),
        taxes=taxes,
        elements=draft.elements,
        length_nm=draft.length_nm,
        tax_class=draft.tax_class,
    )


def _totals(lines: Sequence[Line], settings: PricingSettings, currency: str) -> Totals:
    nets = {
        kind: total((line.net for line in lines if line.kind == kind), currency)
        for kind in (GOODS, LABOUR, CHARGE)
    }
    taxes = total_taxes((line.taxes for line in lines), settings.taxes, currency)
    tax = total((component.amount for component in taxes), currency)
    net = total(nets.values(), currency)
    discount = total((off.amount for line in lines for off in line.discounts), currency)
    return Totals(
        goods=nets[GOODS],
        labour=nets[LABOUR],
        charges=nets[CHARGE],
        discount=discount,
        net=net,
        taxes=taxes,
        tax=tax,
        gross=net + tax,
    )
