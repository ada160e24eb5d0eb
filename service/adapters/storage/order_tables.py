"""Tables of orders kept to be priced again: lines, parts and rules, without geometry.

Of a million quotes the parts and the rules are the same few, so that a line is three whole
numbers. No foreign key leads to them, nor from an order to its quote: they are written before what
names them, in the same transaction or an earlier one, and never removed.
"""

from sqlalchemy import BigInteger, Column, Date, DateTime, Integer, String, Table, Text

from service.adapters.storage.schema import metadata, of_dealer

# What a line is of; the id is made of the other columns, so that nobody counts.
quoted_parts = Table(
    "quoted_parts",
    metadata,
    of_dealer(),
    Column("id", BigInteger, primary_key=True, autoincrement=False),
    Column("kind", String(10), nullable=False),  # goods, labour or charge
    Column("sku", Text, nullable=False),
    Column("name", Text, nullable=False),  # of a task or a charge, "" of goods
    Column("category", Text, nullable=False),
    Column("unit_of_measure", String(3), nullable=False),
    Column("pack_size", Integer),
    Column("tax_class", Text, nullable=False),  # of charges; that of others follows from prices
)

quote_rules = Table(
    "quote_rules",
    metadata,
    of_dealer(),
    Column("digest", String(64), primary_key=True),
    Column("settings", Text, nullable=False),  # canonical JSON, which the digest is of
)

quote_orders = Table(
    "quote_orders",
    metadata,
    of_dealer(of_run=True),
    Column("quote_id", String(36), primary_key=True),
    Column("created_at", DateTime(timezone=True), nullable=False),
    Column("price_table", String(36), nullable=False),  # id of a stored one, "" for one sent
    Column("price_version", Integer, nullable=False),  # 0 for one sent
    Column("priced_on", Date, nullable=False),
    Column("rules", String(64), nullable=False),  # digest
    Column("currency", String(3), nullable=False),
    Column("total_minor", BigInteger, nullable=False),
    Column("material_of", String(36), nullable=False),  # the quote whose order it has, or its own
    # JSON, flat: part, quantity in millionths, amount in minor units; "" where one does not fit. Of
    # a quote that has another one's material the amounts alone; parts and quantities are there.
    Column("lines", Text, nullable=False),
)
