"""Documents of re-priced quotes: what they are written from, and where they are kept.

A run writes rows and no document (``light_revisions.py``); the documents follow when somebody first
reads them.
"""

from sqlalchemy import Connection

from service.adapters.storage.books import Books
from service.adapters.storage.inputs import write_inputs
from service.adapters.storage.moments import utc
from service.adapters.storage.orders import read_order
from service.adapters.storage.tables import quote_lives, quotes, repricing_runs
from service.usecases.ports import Repriced, Written
from service.usecases.repricing.records import Revisions


def read_repriced(books: Books, connection: Connection, quote_id: str) -> Repriced | None:
    """Give what a re-priced quote is written from, None for one that was made whole."""
    order = read_order(books, connection, quote_id)
    if order is None or order.material_of == quote_id:
        return None
    before = quote_lives.alias("before")
    query = (
        books.select(
            quotes.c.created_at,
            quotes.c.service_version,
            quote_lives.c.series,
            quote_lives.c.revision,
            before.c.quote_id.label("revises"),
            before.c.replaced_by,
            repricing_runs.c.revisions,
            of=[quotes, quote_lives, before, repricing_runs],
        )
        .where(quotes.c.id == quote_id, quote_lives.c.quote_id == quotes.c.id)
        .where(before.c.series == quote_lives.c.series)
        .where(before.c.revision == quote_lives.c.revision - 1)
        .where(repricing_runs.c.id == quotes.c.run_id)
    )
    row = connection.execute(query).one()
    # What a run issues takes the place of the quote before at once.
    issued = row.revisions == Revisions.AS_BEFORE and row.replaced_by == quote_id
    return Repriced(
        quote_id,
        utc(row.created_at),
        row.service_version,
        row.series,
        row.revision,
        row.revises,
        not issued,
        order,
    )


def write_documents(books: Books, connection: Connection, quote_id: str, whole: Written) -> None:
    """Write the documents of a re-priced quote, unless somebody did so meanwhile."""
    unwritten = (quotes.c.id == quote_id) & (quotes.c.answer == b"")
    documents = {
        "request": whole.request,
        "answer": whole.answer,
        "costs": whole.costs,
        "inputs": write_inputs(whole.inputs),
    }
    connection.execute(books.update(quotes).where(unwritten).values(documents))
