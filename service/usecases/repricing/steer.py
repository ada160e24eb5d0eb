"""Begin a run, and steer it while it goes."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal

from service.domain.errors import UnknownReference
from service.domain.money import Money
from service.usecases.catalogue import Named, PriceTables
from service.usecases.conditions import Matches, demand_seen
from service.usecases.repricing.ports import Runs
from service.usecases.repricing.records import ANY_PRICES, Run, RunPrices, RunWish, Summary


def begin_run(
    wish: RunWish, *, run_id: str, runs: Runs, price_tables: PriceTables, at: datetime
) -> Run:
    """Keep a run that workers then do; asked for twice with one id, it begins once.

    Raises:
        UnknownReference: No such table is kept, or none of its versions is in force.
    """
    found = price_tables.find(wish.price_table, wish.version, wish.on)
    if found is None:
        which = f" with a version {wish.version}" if wish.version else f" in force on {wish.on}"
        raise UnknownReference(
            f"No price table is kept under {wish.price_table!r}{which}.",
            where=("price_table", "stored"),
            advice="GET /v1/price-tables lists what is kept.",
        )
    named = found.named
    of_table = _of_table(wish, named, price_tables)
    prices = RunPrices(named.id, named.name, found.version.number, found.currency, *of_table)
    nothing = Money(Decimal(0), found.currency)
    return runs.add(Run(run_id, at, wish, prices, at, Summary({}, nothing, nothing)))


def _of_table(wish: RunWish, own: Named, price_tables: PriceTables) -> tuple[str, str]:
    """Give id and name of the table whose quotes are looked at, "" for any prices."""
    asked = wish.which.priced_by
    if asked == ANY_PRICES:
        return "", ""
    if not asked:
        return own.id, own.name
    first = price_tables.find(asked, 1, wish.on)  # every table has a first version
    if first is None:
        raise UnknownReference(
            f"No price table is kept under {asked!r}.",
            where=("quotes", "priced_by"),
            advice="GET /v1/price-tables lists what is kept.",
        )
    return first.named.id, first.named.name


def steer_run(
    run_id: str,
    step: Callable[[Run], Run],
    *,
    runs: Runs,
    at: datetime,
    matches: Matches | None = None,
) -> Run:
    """Pause, resume or cancel a run.

    Raises:
        RunNotFound: No run has this id.
        RunClosed: The step does not follow from its state.
        StaleState: The condition does not hold.
    """

    def checked(run: Run) -> Run:
        demand_seen(matches, run.tag, "This run")
        return step(run)

    return runs.change(run_id, checked, at)
