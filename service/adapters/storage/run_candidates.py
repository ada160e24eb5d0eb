"""Which quotes a run looks at, as the database finds them: in ranges of their ids."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import ColumnElement, Connection, FromClause, Select, and_, func, or_

from service.adapters.storage.books import Books
from service.adapters.storage.light_records import Candidate
from service.adapters.storage.tables import quote_lives, quote_orders, quotes
from service.domain.pricing.life import State
from service.usecases.repricing.records import Run

_newer, _elder = quote_lives.alias("newer"), quote_lives.alias("elder")
_material = quote_orders.alias("material")  # of an order that has another's
_TABLES = (quotes, quote_lives)  # the others stand beside them, of the same dealer

# Of every candidate, as the members of ``Candidate``; no document is among them.
_SHOWN = (
    quotes.c.id,
    quotes.c.currency,
    quotes.c.total_minor,
    quote_lives.c.decided,
    quote_lives.c.valid_until,
    quote_lives.c.version,
    quote_lives.c.series,
    quote_lives.c.revision,
    _newer.c.quote_id.label("newer"),
    quote_orders.c.rules,
    quote_orders.c.material_of,
    quote_orders.c.lines,
    _material.c.lines.label("material"),
)


@dataclass(frozen=True, slots=True)
class Range:
    """Some quotes that follow each other by id, both ends within."""

    first_id: str
    last_id: str
    quotes: int

    def has(self, quote_id: ColumnElement[str]) -> ColumnElement[bool]:
        """Tell the rows of the range's quotes; said of every table, each is read in order."""
        return quote_id.between(self.first_id, self.last_id)


def ranges(books: Books, connection: Connection, run: Run, size: int) -> list[Range]:
    """Part the quotes that fit a run now into ranges of so many."""
    place = func.row_number().over(order_by=quotes.c.id)
    fitting = (
        books.select(quotes.c.dealer, quotes.c.id, place.label("place"), of=_TABLES)
        .select_from(_beside_each_other())
        .where(*_kind(books, run), _open(run))
        .subquery()
    )
    first, last = func.min(fitting.c.id), func.max(fitting.c.id)
    query = (
        books.select(
            first.label("first"), last.label("last"), func.count().label("n"), of=[fitting]
        )
        .group_by((fitting.c.place - 1) // size)
        .order_by(first)
    )
    return [Range(row.first, row.last, row.n) for row in connection.execute(query)]


def candidates(
    books: Books, connection: Connection, run: Run, within: Range, *, lock: bool, after: str = ""
) -> list[Candidate]:
    """Give the quotes of a range that fit, and those that fitted when the run began.

    Args:
        books: Of the dealer.
        connection: Of the transaction.
        run: Which looks at them.
        within: The range.
        lock: Whether nobody may take a step of them until the transaction ends.
        after: Only those behind this id, "" for all.
    """
    query = _within(books, run, within, after, *_SHOWN)
    if lock:
        query = query.with_for_update(of=quote_lives)
    return list(map(Candidate._make, connection.execute(query).all()))


def candidate_ids(
    books: Books, connection: Connection, run: Run, within: Range, *, after: str
) -> Sequence[str]:
    """Give the ids of the same quotes, and read nothing else of them."""
    query = _within(books, run, within, after, quotes.c.id)
    return connection.execute(query).scalars().all()


def _within(books: Books, run: Run, within: Range, after: str, *shown: Any) -> Select[Any]:
    began = run.planned_to
    since = or_(_open(run), quote_lives.c.changed_at >= began, _newer.c.changed_at >= began)
    query = (
        books.select(*shown, of=_TABLES)
        .select_from(_beside_each_other(within))
        .where(
            within.has(quotes.c.id), within.has(quote_lives.c.quote_id), *_kind(books, run), since
        )
        .order_by(quotes.c.id)
    )
    return query.where(quotes.c.id > after) if after else query


def made_since(
    books: Books, connection: Connection, quote_ids: Sequence[str], at: datetime
) -> set[str]:
    """Tell which of some quotes were made at or after a moment."""
    if not quote_ids:
        return set()
    query = books.select(quotes.c.id).where(quotes.c.id.in_(quote_ids), quotes.c.created_at >= at)
    return set(connection.execute(query).scalars())


def _beside_each_other(within: Range | None = None) -> FromClause:
    same = and_(quote_lives.c.dealer == quotes.c.dealer, quote_lives.c.quote_id == quotes.c.id)
    ordered = and_(quote_orders.c.dealer == quotes.c.dealer, quote_orders.c.quote_id == quotes.c.id)
    if within is not None:
        ordered = and_(ordered, within.has(quote_orders.c.quote_id))
    following = and_(
        _newer.c.dealer == quote_lives.c.dealer,
        _newer.c.series == quote_lives.c.series,
        _newer.c.revision == quote_lives.c.revision + 1,
    )
    both = quotes.join(quote_lives, same)
    every = both.outerjoin(_newer, following).outerjoin(quote_orders, ordered)
    if within is None:
        return every
    # An order that has its own material is NULL here, so that none is looked for.
    led = and_(
        _material.c.dealer == quotes.c.dealer,
        _material.c.quote_id == func.nullif(quote_orders.c.material_of, quotes.c.id),
    )
    return every.outerjoin(_material, led)


def _kind(books: Books, run: Run) -> Iterator[ColumnElement[bool]]:
    """Say what of a quote never changes: what it is about, when it was made, its prices."""
    which, prices = run.wish.which, run.prices
    yield quotes.c.created_at < run.planned_to
    yield or_(quotes.c.run_id.is_(None), quotes.c.run_id != run.id)
    yield _standing(books)
    if which.reference:
        yield quotes.c.reference == which.reference
    if which.outside_reference:
        yield quotes.c.outside_reference == which.outside_reference
    if which.series:
        yield quote_lives.c.series == which.series
    if which.made_from:
        yield quotes.c.created_at >= _begin(which.made_from)
    if which.made_to and which.made_to < date.max:
        yield quotes.c.created_at < _begin(which.made_to + timedelta(days=1))
    if prices.of_table_id:
        unkept = and_(
            quote_orders.c.quote_id.is_(None), quotes.c.price_table == prices.of_table_name
        )
        yield or_(quote_orders.c.price_table == prices.of_table_id, unkept)


def _standing(books: Books) -> ColumnElement[bool]:
    """Say that the customer decided on no earlier quote of the series after this one was made.

    Such a revision, as runs leave them, is nobody's offer any more; one made after a decision is.
    """
    decided = (
        books.select(func.max(_elder.c.revision), of=[_elder])
        .where(
            _elder.c.series == quote_lives.c.series,
            _elder.c.revision < quote_lives.c.revision,
            _elder.c.decided.in_([State.ACCEPTED.value, State.DECLINED.value]),
            _elder.c.changed_at > quotes.c.created_at,
        )
        .correlate(quote_lives, quotes)
    )
    return or_(quote_lives.c.revision == 1, decided.scalar_subquery().is_(None))


def _open(run: Run) -> ColumnElement[bool]:
    """Say that a quote stands where a run may revise it; the newest of a series has no next."""
    valid = quote_lives.c.valid_until
    return and_(
        _newer.c.series.is_(None),  # of the columns it is found by, so that none is looked for
        quote_lives.c.decided.in_(sorted(state.value for state in run.wish.which.states)),
        or_(valid.is_(None), valid >= run.planned_to.date()),
    )


def _begin(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
