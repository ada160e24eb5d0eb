"""One cut plan per material for a shop day: several kept quotes, and demands sent as they are."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.cutting.combine import CombinedPlan, JobDemand, combine
from service.domain.cutting.offcuts import Offcut
from service.domain.errors import CurrencyMismatch, TooLarge
from service.domain.takeoff.take_off import take_off
from service.usecases.kept_orders import Read, kept_layout, kept_order
from service.usecases.offcuts_on_hand import stored_offcuts
from service.usecases.orders import Units
from service.usecases.ports import Quotes, Saw, Shelf
from service.usecases.quote_railing import Press
from service.usecases.take_off_railing import unit_prices

MOST_PIECES = 2_000


@dataclass(frozen=True, slots=True)
class ShopDayOrder:
    """What is to be cut together.

    Attributes:
        quotes: Ids of kept quotes.
        demands: Demands of other jobs.
        offcuts: On hand, to be used before anything is bought.
        use_offcuts: Whether those that the service keeps are on hand too.
    """

    units: Units
    quotes: tuple[str, ...]
    demands: tuple[JobDemand, ...]
    offcuts: tuple[Offcut, ...] = ()
    use_offcuts: bool = False


@dataclass(frozen=True, slots=True)
class QuotedJob:
    """A kept quote as a job of the day."""

    name: str
    quote: str
    currency: str
    demands: tuple[JobDemand, ...]


@dataclass(frozen=True, slots=True)
class ShopDay:
    """The day's plans; the currency is "" where no quote says one."""

    jobs: tuple[tuple[str, str], ...]  # name, and id of its quote or ""
    currency: str
    plans: tuple[CombinedPlan, ...]


def plan_shop_day(
    order: ShopDayOrder,
    *,
    quotes: Quotes,
    read: Read,
    press: Press,
    shelf: Shelf,
    saw: Saw,
    day: date,
) -> ShopDay:
    """Cut several jobs together, one plan for each material.

    Raises:
        QuoteNotFound: No quote has one of the ids.
        NotReproducible: A quote comes out differently in this version.
        DemandsDisagree: Two jobs describe one material differently.
        CurrencyMismatch: Two quotes are in different currencies.
        TooLarge: More pieces than are cut in one plan.
        PieceTooLong: A piece fits no stock.
        NotEnoughStock: Limits on stock leave no plan, or none was found.
    """
    taken = {demand.job for demand in order.demands}
    quoted: list[QuotedJob] = []
    for quote_id in order.quotes:
        quoted.append(_job(quote_id, taken, quotes=quotes, read=read, press=press))
        taken.add(quoted[-1].name)
    currency = _currency(quoted)
    demands = [*(demand for job in quoted for demand in job.demands), *order.demands]
    _refuse_oversize(demands)
    offcuts = _on_hand(order, demands, shelf, day)
    names = dict.fromkeys(demand.job for demand in order.demands)
    jobs = (*((job.name, job.quote) for job in quoted), *((name, "") for name in names))
    return ShopDay(jobs, currency, tuple(_plans(demands, offcuts, saw)))


def _job(quote_id: str, taken: set[str], *, quotes: Quotes, read: Read, press: Press) -> QuotedJob:
    """Take a kept quote off again; its name is its reference, or its id."""
    kept = kept_order(quote_id, quotes=quotes, read=read, press=press)
    layout = kept_layout(quote_id, kept, quotes=quotes, press=press)
    order = kept.order
    takeoff = take_off(layout, order.parts, unit_prices(order, kept.on))
    name = order.reference or quote_id
    name = f"{name} ({quote_id})" if name in taken else name
    return QuotedJob(
        name,
        quote_id,
        order.prices.currency,
        tuple(
            JobDemand(name, part.rule.sku, demand)
            for part, demand in zip(takeoff.stock, takeoff.demands, strict=True)
        ),
    )


def _currency(quoted: Sequence[QuotedJob]) -> str:
    currencies = list(dict.fromkeys(job.currency for job in quoted))
    if len(currencies) > 1:
        raise CurrencyMismatch(
            f"The quotes are in {' and '.join(currencies)}; their bars cannot be weighed together.",
            where=("quotes",),
            advice="Cut the quotes of each currency in a plan of their own.",
        )
    return currencies[0] if currencies else ""


def _refuse_oversize(demands: Iterable[JobDemand]) -> None:
    pieces = sum(len(demand.demand.pieces) for demand in demands)
    if pieces > MOST_PIECES:
        raise TooLarge(
            f"{pieces} pieces are to be cut; {MOST_PIECES} are cut in one call.",
            advice="Plan the day in parts.",
        )


def _on_hand(
    order: ShopDayOrder, demands: Sequence[JobDemand], shelf: Shelf, day: date
) -> list[Offcut]:
    """Give the offcuts sent, and those on the shelf that are free or held by these quotes."""
    if not order.use_offcuts:
        return list(order.offcuts)
    known = sorted({sku for demand in demands for sku in _skus(demand)})
    sent = {offcut.name for offcut in order.offcuts}
    stored = stored_offcuts(shelf, known, day, order.quotes)
    return [*order.offcuts, *(one for one in stored if one.name not in sent)]


def _skus(demand: JobDemand) -> set[str]:
    return {demand.sku, *(stock.sku for stock in demand.demand.stocks)}


def _plans(
    demands: Sequence[JobDemand], offcuts: Sequence[Offcut], saw: Saw
) -> Iterable[CombinedPlan]:
    left = list(offcuts)
    for sku in dict.fromkeys(demand.sku for demand in demands):
        jobs = [demand for demand in demands if demand.sku == sku]
        mine = [offcut for offcut in left if offcut.sku in _skus(jobs[0])]
        plan = combine(jobs, mine, saw)
        left = [offcut for offcut in left if offcut not in plan.offcuts]
        yield plan
