"""Orders of quotes in the database, kept to be priced again without their geometry."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.parts import (
    columns_of_part,
    part_id,
    part_of,
    parts_in,
    read_lines,
    write_lines,
)
from service.adapters.storage.rules import digest_of, read_rules, write_rules
from service.adapters.storage.tables import quote_orders, quote_rules, quoted_parts
from service.domain.money import Money, minor_unit
from service.domain.pricing.material import Part
from service.usecases.ports import KeptMaterial, Material, StoredQuote


def keep_order(books: Books, connection: Connection, quote: StoredQuote) -> None:
    """Keep the order of a new quote, where one is given."""
    if quote.material is not None:
        row = _columns(books, connection, quote.id, quote.created_at, quote.total, quote.material)
        books.insert(connection, quote_orders, [row])


def keep_order_of(
    books: Books,
    connection: Connection,
    quote_id: str,
    at: datetime,
    total: Money,
    material: Material,
) -> None:
    """Keep the order of a quote that was made before, unless one is kept."""
    row = _columns(books, connection, quote_id, at, total, material)
    books.insert_new(connection, quote_orders, [row])


def _columns(
    books: Books,
    connection: Connection,
    quote_id: str,
    at: datetime,
    total: Money,
    order: Material,
) -> dict[str, Any]:
    """Give the columns of an order, its parts and rules kept."""
    _keep_parts(books, connection, (line.part for line in order.lines))
    return {
        "quote_id": quote_id,
        "created_at": at,
        "price_table": order.table_id,
        "price_version": order.version,
        "priced_on": order.priced_on,
        "currency": total.currency,
        "total_minor": minor_units(total),
        "material_of": quote_id,
        "rules": _keep_rules(books, connection, order),
        "lines": write_lines(order.lines, total.currency),
    }


def minor_units(total: Money) -> int:
    """Give a total as whole minor units of its currency."""
    rounded = total.rounded()
    return int(rounded.amount / minor_unit(rounded.currency))


def read_order(books: Books, connection: Connection, quote_id: str) -> KeptMaterial | None:
    """Give the order that is kept of a quote, None where none is."""
    rules = quote_rules.c.digest == quote_orders.c.rules
    query = books.select(quote_orders, quote_rules.c.settings).where(
        quote_orders.c.quote_id == quote_id, rules
    )
    row = connection.execute(query).one_or_none()
    if row is None or not row.lines:
        return None
    text, amounts = row.lines, None
    if row.material_of != quote_id:
        whole = books.select(quote_orders.c.lines).where(quote_orders.c.quote_id == row.material_of)
        text, amounts = connection.execute(whole).scalar_one_or_none(), row.lines
        if not text:
            return None
    ids = parts_in(text)
    wanted = books.select(quoted_parts).where(quoted_parts.c.id.in_(ids))
    parts = {one.id: part_of(one) for one in connection.execute(wanted)}
    return KeptMaterial(
        Material(
            lines=read_lines(text, parts, row.currency, amounts),
            settings=read_rules(row.settings),
            priced_on=row.priced_on,
            table_id=row.price_table,
            version=row.price_version,
        ),
        total=Money(row.total_minor * minor_unit(row.currency), row.currency),
        material_of=row.material_of,
    )


def material_of(books: Books, connection: Connection, quote_id: str) -> str:
    """Give the quote that was made whole and whose parts, bars and drawing a quote has."""
    query = books.select(quote_orders.c.material_of).where(quote_orders.c.quote_id == quote_id)
    return connection.execute(query).scalar_one_or_none() or quote_id


def _keep_rules(books: Books, connection: Connection, order: Material) -> str:
    text = write_rules(order.settings)
    digest = digest_of(text)
    if digest not in books.known:
        books.insert_new(connection, quote_rules, [{"digest": digest, "settings": text}])
        books.remember([digest])
    return digest


def _keep_parts(books: Books, connection: Connection, parts: Iterable[Part]) -> None:
    """Keep parts that this process has not seen kept, in one order so that none deadlock."""
    known = books.known
    new = {part_id(part): part for part in parts if part_id(part) not in known}
    if not new:
        return
    ids = sorted(new)
    books.insert_new(connection, quoted_parts, [columns_of_part(new[one]) for one in ids])
    _refuse_others(books, connection, ids, new)
    books.remember(ids)


def _refuse_others(
    books: Books, connection: Connection, ids: Sequence[int], parts: dict[int, Part]
) -> None:
    """Refuse a part whose number another one has: of some millions of parts, hardly ever one."""
    query: Any = books.select(quoted_parts).where(quoted_parts.c.id.in_(ids))
    for row in connection.execute(query):
        if part_of(row) != parts[row.id]:
            raise RuntimeError(f"two parts have the number {row.id}: {row.sku or row.name}")
