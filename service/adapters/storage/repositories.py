"""Quotes in the database."""

from dataclasses import asdict
from typing import Any

import orjson
from sqlalchemy import Column, ColumnElement, Connection, Row
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.inputs import read_inputs, write_inputs
from service.adapters.storage.orders import keep_order, material_of, minor_units
from service.adapters.storage.quote_lives import overtake, row_of, told_of
from service.adapters.storage.quote_pages import find
from service.adapters.storage.repriced import read_repriced, write_documents
from service.adapters.storage.tables import quote_lives, quote_offcuts, quote_remnants, quotes
from service.domain.errors import QuoteNotFound, StaleState
from service.domain.pricing.life import State
from service.usecases.ports import Inputs, Kept, Repriced, Since, StoredQuote, Wanted, Written


class SqlQuotes:
    """Keeps quotes; each is written in one transaction."""

    def __init__(self, books: Books) -> None:
        self._books = books

    def add(self, quote: StoredQuote) -> None:
        """Keep a quote, whole or not at all."""
        row = {
            "id": quote.id,
            "created_at": quote.created_at,
            "reference": quote.reference,
            "service_version": quote.service_version,
            "price_table": quote.price_table,
            "codes": "\n".join(quote.codes),
            "currency": quote.total.currency,
            "total_minor": minor_units(quote.total),
            "request": quote.request,
            "answer": quote.answer,
            "costs": quote.costs,
            "customer": orjson.dumps(quote.customer).decode(),
            "customer_name": quote.customer.company or quote.customer.name,
            "outside_reference": quote.outside_reference,
            "inputs": write_inputs(quote.inputs),
        }
        with self._books.writing() as connection:
            self._books.insert(connection, quotes, [row])
            self._add_beside(connection, quote)
            keep_order(self._books, connection, quote)
            overtake(self._books, connection, quote.life, quote.created_at)
            action = "quote.drafted" if quote.life.decided is State.DRAFT else "quote.issued"
            self._books.note(connection, quote.created_at, action, quote.id, **told_of(quote.life))

    def answer(self, quote_id: str) -> bytes:
        """Give a quote's answer, byte for byte."""
        return bytes(self._read(quotes.c.answer, quote_id))

    def costs(self, quote_id: str) -> bytes:
        """Give what a quote costs its dealer, byte for byte."""
        # At once: somebody may be writing the documents of a re-priced quote meanwhile.
        row = self._row(quote_id, quotes.c.costs, (quotes.c.answer != b"").label("written"))
        if row.costs is None and row.written:
            raise QuoteNotFound(f"No costs were kept of the quote {quote_id}; make it anew.")
        return bytes(row.costs or b"")

    def request(self, quote_id: str) -> bytes:
        """Give what a quote was made from, byte for byte."""
        return bytes(self._read(quotes.c.request, quote_id))

    def drawing(self, quote_id: str) -> bytes | None:
        """Give a quote's drawing as it was first drawn, None if it was not drawn yet."""
        drawn = self._read(quotes.c.drawing, quote_id)
        if drawn is None:
            with self._books.reading() as connection:
                first = material_of(self._books, connection, quote_id)
            drawn = self._read(quotes.c.drawing, first) if first != quote_id else None
        return None if drawn is None else bytes(drawn)

    def inputs(self, quote_id: str) -> Inputs:
        """Give what a quote was made from besides its request."""
        return read_inputs(self._read(quotes.c.inputs, quote_id))

    def page(self, wanted: Wanted, after: Since | None, most: int) -> list[Kept]:
        """Give quotes that fit, newest first."""
        return find(self._books, wanted, after, most)

    def keep_drawing(self, quote_id: str, drawing: bytes) -> None:
        """Keep a quote's drawing unless one is kept already."""
        undrawn = (quotes.c.id == quote_id) & quotes.c.drawing.is_(None)
        with self._books.writing() as connection:
            connection.execute(self._books.update(quotes).where(undrawn).values(drawing=drawing))

    def repriced(self, quote_id: str) -> Repriced | None:
        """Give what a re-priced quote is written from, None for one that was made whole."""
        with self._books.reading() as connection:
            return read_repriced(self._books, connection, quote_id)

    def write(self, quote_id: str, whole: Written) -> None:
        """Keep the documents of a re-priced quote unless they are kept already."""
        with self._books.writing() as connection:
            write_documents(self._books, connection, quote_id, whole)

    def _read(self, column: Column[Any], quote_id: str) -> Any:
        return self._row(quote_id, column)[0]

    def _row(self, quote_id: str, *columns: ColumnElement[Any]) -> Row[Any]:
        query = self._books.select(*columns, of=[quotes]).where(quotes.c.id == quote_id)
        with self._books.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            raise QuoteNotFound(f"No quote has the id {quote_id}.")
        return row

    def _add_beside(self, connection: Connection, quote: StoredQuote) -> None:
        """Begin the life of a quote, and note the offcuts it would use and would leave over."""
        begun = {**row_of(quote.life), "changed_at": quote.created_at}
        used = ({"quote_id": quote.id, "offcut_id": offcut} for offcut in quote.offcuts)
        left = (
            {**asdict(remnant), "quote_id": quote.id, "number": number}
            for number, remnant in enumerate(quote.remnants, start=1)
        )
        try:
            self._books.insert(connection, quote_lives, [begun])
        except IntegrityError:
            raise StaleState(
                "Somebody else revised this quote meanwhile; read its series again."
            ) from None
        self._books.insert(connection, quote_offcuts, used)
        self._books.insert(connection, quote_remnants, left)
