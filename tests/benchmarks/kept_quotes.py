"""A dealer with very many kept quotes of 20 goods and some labour, for benchmarks of runs.

All is invented and drawn from one seed. The rows are those that the service keeps, but for their
documents: a run reads none of them, and where they lie apart from their rows what is left in the
row is a pointer of 18 bytes, as wide as what stands in for them here. The quotes are priced by the
first version of a price table; the second changes every price.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Engine

from service import __version__
from service.adapters.storage.line_texts import write_amounts
from service.adapters.storage.parts import columns_of_part, part_id
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.rules import digest_of, write_rules
from service.adapters.storage.tables import quote_lives, quote_orders, quote_rules, quoted_parts
from service.adapters.storage.tables import quotes as quote_rows
from service.domain.pricing.many.chunk import Chunk
from service.domain.pricing.many.price_many import price_many
from service.domain.pricing.many.resolved import ManyPrices
from service.domain.pricing.material import Part
from service.domain.pricing.price_table import PriceRow
from service.domain.pricing.settings import LabourRate, MarkupRule, PricingSettings, Tax
from service.usecases.catalogue import Named, PriceDraft
from tests.serving import books_of

Ints = NDArray[np.int64]
GOODS, SKUS, AT_ONCE = 20, 300, 10_000
DAY, MADE = date(2026, 11, 25), datetime(2026, 11, 20, 15, 0, tzinfo=UTC)
TABLE, DEALER = str(uuid5(NAMESPACE_URL, "prices")), "Larkmere Deck & Rail"
RULES = PricingSettings(
    None,
    (
        Tax("State", Decimal("0.0485"), frozenset({"goods"})),
        Tax("City", Decimal("0.0125"), frozenset({"goods", "labour"})),
    ),
    markups=(
        MarkupRule(Decimal("0.35"), of_price=False),
        MarkupRule(Decimal("0.45"), of_price=False, category="rail"),
    ),
    labour_rates=(LabourRate("", Decimal("68.00"), Decimal("41.50")),),
)
CATEGORIES = ("post", "rail", "trim")
PARTS = (
    *(Part("goods", f"S-{n:03}", "", CATEGORIES[n % 3], "C62", 1, "") for n in range(SKUS)),
    Part("labour", "", "install", "", "HUR", None, ""),
)
_STANDS_FOR_TOASTED = b"kept beside....."
_ROWS: dict[Any, tuple[str, ...]] = {
    quote_rows: (
        "id created_at reference service_version price_table codes currency total_minor request "
        "answer customer customer_name outside_reference"
    ).split(),
    quote_lives: (
        "quote_id decided valid_until version changed_at sawn remnants_kept series revision "
        "replaced_by"
    ).split(),
    quote_orders: (
        "quote_id created_at price_table price_version priced_on rules currency total_minor "
        "material_of lines"
    ).split(),
}


@dataclass(frozen=True, slots=True)
class Made:
    """Some of the quotes.

    Attributes:
        first: Number of the first of them.
        parts, quantities: Of every line, one quote after the other; quantities in millionths.
    """

    first: int
    ids: Sequence[str]
    parts: Ints
    quantities: Ints


def price_rows(rng: np.random.Generator) -> list[PriceRow]:
    """Draw prices: a third has only a cost, to be marked up, and a quarter two breaks."""
    rows = []
    for n in range(SKUS):
        cost = Decimal(int(rng.integers(120, 9000))).scaleb(-2)
        listed = None if n % 3 == 1 else (cost * Decimal("1.6")).quantize(Decimal("0.01"))
        breaks = (("0", "1"), ("25", "0.95"), ("100", "0.9"))[: 3 if n % 4 == 0 else 1]
        for least, off in breaks:
            off_cost, off_list = cost * Decimal(off), listed and listed * Decimal(off)
            least_quantity = Decimal(least)
            rows.append(
                PriceRow(f"S-{n:03}", off_list, "C62", cost=off_cost, min_quantity=least_quantity)
            )
    return rows


def make(engine: Engine, count: int, seed: int = 7) -> Iterator[Made]:
    """Keep a price table in two versions and so many quotes, and give them as they are kept."""
    rng = np.random.default_rng(seed)
    books = books_of(engine, DEALER)
    tables = SqlPriceTables(books)
    tables.add(Named(TABLE, "Yard", MADE, 1, 1), PriceDraft("USD", price_rows(rng)))
    tables.add_version(TABLE, PriceDraft("USD", price_rows(rng)), 1, MADE)
    prices = ManyPrices(PARTS, tables.priced(tables.version(TABLE, 1)), RULES, DAY, "USD")
    rules = write_rules(RULES)
    with books.writing() as connection:
        digest = {"digest": digest_of(rules), "settings": rules}
        books.insert_new(connection, quote_rules, [digest])
        books.insert_new(connection, quoted_parts, [columns_of_part(part) for part in PARTS])
    part_ids = np.array([part_id(part) for part in PARTS], np.int64)
    for first in range(0, count, AT_ONCE):
        some = min(AT_ONCE, count - first)
        made, offsets = _draw(rng, first, some)
        chunk = Chunk(offsets, made.parts, made.quantities, np.zeros(len(made.parts), np.int64))
        priced = price_many(chunk, prices)
        flat = np.stack([part_ids[made.parts], made.quantities, priced.amounts], axis=1)
        texts = write_amounts(offsets * flat.shape[1], flat.ravel())
        rows = _rows(made, digest["digest"], priced.gross.tolist(), texts)
        with books.writing() as connection:
            for table, names in _ROWS.items():
                of_each = dict(zip(names, zip(*rows[table], strict=True), strict=True))
                books.insert_alike(connection, table, {}, of_each)
        yield made


def _draw(rng: np.random.Generator, first: int, count: int) -> tuple[Made, Ints]:
    """Draw the lines of some quotes: goods without one twice, then labour."""
    goods = rng.random((count, SKUS)).argpartition(GOODS, axis=1)[:, :GOODS]
    parts = np.column_stack([goods, np.full(count, SKUS)]).ravel()
    quantities = rng.integers(1, 160, (count, GOODS + 1)) * 10**6
    quantities[:, GOODS] = rng.integers(100, 6000, count) * 10**4
    drawn = rng.bytes(16 * count)
    ids = [str(UUID(bytes=drawn[n : n + 16], version=4)) for n in range(0, len(drawn), 16)]
    offsets = np.arange(0, len(parts) + 1, GOODS + 1, dtype=np.int64)
    return Made(first, ids, parts.astype(np.int64), quantities.ravel()), offsets


def _rows(
    made: Made, digest: str, totals: Sequence[int], texts: Sequence[str]
) -> dict[Any, list[tuple[Any, ...]]]:
    written = _STANDS_FOR_TOASTED
    customer = '{"name":"A. Person","company":"","address":["1 Larch Lane"]}'
    of_quote = ("Larch Lane", __version__, "Yard", "IRC 2021", "USD")
    rows: dict[Any, list[tuple[Any, ...]]] = {table: [] for table in _ROWS}
    for quote_id, total, lines in zip(made.ids, totals, texts, strict=True):
        named = (written, written, customer, "A. Person", "")
        rows[quote_rows].append((quote_id, MADE, *of_quote, total, *named))
        life = ("issued", None, 1, MADE, False, False, quote_id, 1, "")
        rows[quote_lives].append((quote_id, *life))
        order = (quote_id, MADE, TABLE, 1, DAY, digest, "USD", total, quote_id, lines)
        rows[quote_orders].append(order)
    return rows
