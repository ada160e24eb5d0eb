"""A dealer with quotes that are kept to be priced again, for tests of runs; all is invented."""

import random
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import NAMESPACE_URL, uuid5

from service.adapters.storage.orders import read_order
from service.adapters.storage.price_tables import SqlPriceTables
from service.adapters.storage.quote_lives import SqlQuoteLives
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.run_work import SqlRunWork
from service.adapters.storage.runs import SqlRuns
from service.domain.money import minor_unit
from service.domain.pricing.again import price_again
from service.domain.pricing.life import QuoteLife, State
from service.domain.pricing.material import MaterialLine, Part
from service.domain.pricing.price_table import PriceRow
from service.domain.pricing.settings import LabourRate, PricingSettings, Tax
from service.usecases.catalogue import Named, PriceDraft
from service.usecases.orders import Customer
from service.usecases.ports import Material, StoredQuote
from service.usecases.repricing.ports import ResultsWanted
from service.usecases.repricing.records import RunWish
from service.usecases.repricing.steer import begin_run
from tests.serving import books_of

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
DAY = date(2026, 11, 25)
RULES = PricingSettings(
    None,
    (Tax("State tax", Decimal("0.0725"), frozenset({"goods"})),),
    labour_rates=(LabourRate("", Decimal("66.00"), Decimal("41.50")),),
)
SKUS = tuple(f"SKU-{n:02}" for n in range(12))
GOODS = tuple(Part("goods", sku, "", "post", "C62", 1, "") for sku in SKUS)
HOURS = Part("labour", "", "install", "", "HUR", None, "")


def rows(factor="1", without=()):
    """Give a price and a cost for every SKU."""
    return [
        PriceRow(
            sku,
            (Decimal("7.35") + n * Decimal("3.17")) * Decimal(factor),
            "C62",
            cost=(Decimal("4.10") + n * 2) * Decimal(factor),
        )
        for n, sku in enumerate(SKUS)
        if sku not in without
    ]


class Shop:
    """A dealer's books with a price table, and who works on runs."""

    def __init__(self, engine, dealer="Larkmere Deck & Rail", size=7):
        self.engine, self.books = engine, books_of(engine, dealer)
        self.quotes, self.lives = SqlQuotes(self.books), SqlQuoteLives(self.books)
        self.tables, self.runs = SqlPriceTables(self.books), SqlRuns(self.books)
        self.now = NOON
        self.runner = self.worker(size=size)
        self.random = random.Random(7)
        self._made = 0

    def worker(self, **more):
        return SqlRunWork(self.engine, now=lambda: self.now, **more)

    def later(self, **by):
        self.now += timedelta(**by)
        return self.now

    def table(self, name="spring", table_id=None, drafts=(), currency="USD"):
        """Keep a table with versions, the first of them in force."""
        table_id = table_id or str(uuid5(NAMESPACE_URL, name))
        first, *others = drafts or [rows()]
        self.tables.add(Named(table_id, name, self.now, 1, 1), PriceDraft(currency, first))
        for number, more in enumerate(others, start=1):
            self.tables.add_version(table_id, PriceDraft(currency, more), number, self.now)
        return table_id

    def priced(self, table_id, version, lines, settings=RULES, on=DAY):
        """Price lines by a version of a table, one quote at a time."""
        table = self.tables.priced(self.tables.version(table_id, version))
        return price_again(lines, table, settings, on, table.currency)

    def lines(self, count=4):
        parts = self.random.sample(GOODS, count)
        whole = [MaterialLine(p, Decimal(self.random.randint(1, 60)), Decimal(0)) for p in parts]
        hours = Decimal(self.random.randint(1, 4000)).scaleb(-2)
        return [*whole, MaterialLine(HOURS, hours, Decimal(0))]

    def quote(self, table_id, *, lines=None, settings=RULES, life=None, name="", **more):
        """Keep a quote by the first version of a table."""
        self._made += 1
        quote_id = name or f"{self.random.getrandbits(32):08x}-{self._made:027}"
        lines = self.lines() if lines is None else lines
        priced = self.priced(table_id, 1, lines, settings)
        kept = tuple(
            MaterialLine(line.part, line.quantity, new.amount.amount)
            for line, new in zip(lines, priced.lines, strict=True)
        )
        life = {"series": quote_id, "decided": State.ISSUED, **(life or {})}
        self.quotes.add(
            StoredQuote(
                id=quote_id,
                created_at=more.pop("at", self.now),
                reference=more.pop("reference", "Larch Lane"),
                service_version="0.1.0",
                price_table=self.tables.table(table_id).name,
                codes=("IRC 2021",),
                total=priced.totals.gross,
                request=b'{"made": "whole"}',
                answer=b'{"made": "whole"}',
                life=QuoteLife(quote_id, **life),
                material=None
                if more.pop("unkept", False)
                else Material(
                    kept, settings, DAY, more.pop("by", table_id), more.pop("version", 1)
                ),
                customer=Customer(name="A. Person"),
                **more,
            )
        )
        return quote_id

    def begin(self, table_id, *, version=2, run_id="", **wish):
        """Begin a run a second after the last quote was made."""
        self.later(seconds=1)
        self._made += 1
        return begin_run(
            RunWish(table_id, wish.pop("on", DAY), version, **wish),
            run_id=run_id or f"run-{self._made}",
            runs=self.runs,
            price_tables=self.tables,
            at=self.now,
        )

    def kept(self, connection, quote_id):
        """Give the lines that are kept of a quote."""
        return read_order(self.books, connection, quote_id).material.lines

    def run(self, table_id, **wish):
        """Begin a run, do all of it, and give it as it ended."""
        begun = self.begin(table_id, **wish)
        self.later(seconds=1)
        self.runner.work(lambda: False)
        return self.runs.run(begun.id)

    def results(self, run, **wanted):
        """Give the results of a run by quote."""
        found = self.runs.results(run.id, ResultsWanted(**wanted), None, 10_000)
        return {one.quote_id: one for one in found}


def minor(money):
    return int(money.amount / minor_unit(money.currency))
