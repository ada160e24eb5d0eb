"""Quotes in the database."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import orjson
from sqlalchemy import Column, Connection

from service.adapters.storage.books import Books
from service.adapters.storage.tables import quote_lives, quote_offcuts, quote_remnants, quotes
from service.domain.errors import QuoteNotFound
from service.domain.money import minor_unit
from service.domain.pricing.life import QuoteLife
from service.usecases.ports import StoredQuote


class SqlQuotes:
    """Keeps quotes; each is written in one transaction."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, quote: StoredQuote) -> None:
        """Keep a quote, whole or not at all."""
        total = quote.total.rounded()
        row = {
            "id": quote.id,
            "created_at": quote.created_at,
            "reference": quote.reference,
            "service_version": quote.service_version,
            "price_table": quote.price_table,
            "codes": "\n".join(quote.codes),
            "currency": total.currency,
            "total_minor": int(total.amount / minor_unit(total.currency)),
            "request": quote.request,
            "answer": quote.answer,
            "costs": quote.costs,
            "inputs": orjson.dumps(quote.inputs).decode(),
        }
        with self._books.writing() as connection:
            self._books.insert(connection, quotes, [row])
            self._add_beside(connection, quote)
            self._books.note(connection, quote.created_at, "quote.made", quote.id)

    def answer(self, quote_id: str) -> bytes:
        """Give a quote's answer, byte for byte."""
        return bytes(self._read(quotes.c.answer, quote_id))

    def costs(self, quote_id: str) -> bytes:
        """Give what a quote costs its dealer, byte for byte."""
        kept = self._read(quotes.c.costs, quote_id)
        if kept is None:
            raise QuoteNotFound(f"No costs were kept of the quote {quote_id}; make it anew.")
        return bytes(kept)

    def request(self, quote_id: str) -> bytes:
        """Give what a quote was made from, byte for byte."""
        return bytes(self._read(quotes.c.request, quote_id))

    def inputs(self, quote_id: str) -> Mapping[str, Any]:
        """Give id and version of what that was stored a quote was made with."""
        kept: Mapping[str, Any] = orjson.loads(self._read(quotes.c.inputs, quote_id))
        return kept

    def drawing(self, quote_id: str) -> bytes | None:
        """Give a quote's drawing as it was first drawn, None if it was not drawn yet."""
        drawn = self._read(quotes.c.drawing, quote_id)
        return None if drawn is None else bytes(drawn)

    def keep_drawing(self, quote_id: str, drawing: bytes) -> None:
        """Keep a quote's drawing unless one is kept already."""
        undrawn = (quotes.c.id == quote_id) & quotes.c.drawing.is_(None)
        with self._books.writing() as connection:
            connection.execute(self._books.update(quotes).where(undrawn).values(drawing=drawing))

    def _read(self, column: Column[Any], quote_id: str) -> Any:
        query = self._books.select(column).where(quotes.c.id == quote_id)
        with self._books.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            raise QuoteNotFound(f"No quote has the id {quote_id}.")
        return row[0]

    def _add_beside(self, connection: Connection, quote: StoredQuote) -> None:
        """Begin the life of a quote, and note the offcuts it would use and would leave over."""
        life = QuoteLife(quote.id, valid_until=quote.valid_until)
        begun = {**row_of(life), "changed_at": quote.created_at}
        used = ({"quote_id": quote.id, "offcut_id": offcut} for offcut in quote.offcuts)
        left = (
            {**asdict(remnant), "quote_id": quote.id, "number": number}
            for number, remnant in enumerate(quote.remnants, start=1)
        )
        self._books.insert(connection, quote_lives, [begun])
        self._books.insert(connection, quote_offcuts, used)
        self._books.insert(connection, quote_remnants, left)


def row_of(life: QuoteLife) -> dict[str, Any]:
    """Give the columns of a life."""
    return {**asdict(life), "decided": life.decided.value}
