"""The dealer's view of a quote: costs, margins and which prices drive the total."""

from dataclasses import dataclass

from service.domain.pricing.costs import Costs, costs_of
from service.domain.pricing.quote import Priced
from service.domain.pricing.sensitivity import Sensitivity, sensitivity
from service.domain.pricing.settings import PricingSettings


@dataclass(frozen=True, slots=True)
class DealersView:
    """Figures that no customer's document holds.

    Attributes:
        drivers: Prices by how much the total moves with them, the most first.
    """

    costs: Costs
    drivers: tuple[Sensitivity, ...]


def dealers_view(priced: Priced, settings: PricingSettings) -> DealersView:
    """See a priced order as its dealer does."""
    currency = priced.totals.gross.currency
    return DealersView(
        costs_of(priced.drafts, priced.lines, currency, settings.half),
        sensitivity(priced.drafts, priced.charges, priced.lines, settings, currency),
    )
