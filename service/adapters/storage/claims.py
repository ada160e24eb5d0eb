"""What quotes claim of the offcuts on hand.

That two quotes never claim one offcut is kept by the primary key of the claims: of two that insert
at once the database makes one wait, and then refuses it.
"""

from collections.abc import Sequence
from datetime import date

from sqlalchemy import Connection
from sqlalchemy.exc import IntegrityError

from service.adapters.storage.books import Books
from service.adapters.storage.orders import material_of
from service.adapters.storage.tables import offcut_claims, quote_offcuts
from service.domain.errors import OffcutTaken
from service.domain.pricing.life import QuoteLife


def settle_claims(books: Books, connection: Connection, life: QuoteLife, day: date) -> None:
    """Make the claims of a quote those that its life gives it."""
    mine = offcut_claims.c.quote_id == life.quote_id
    hold = life.hold
    if hold is None:
        connection.execute(books.delete(offcut_claims).where(mine))
        return
    # A quote that was re-priced is cut as the one that was made whole.
    planned = material_of(books, connection, life.quote_id)
    wanted = books.select(quote_offcuts.c.offcut_id).where(quote_offcuts.c.quote_id == planned)
    have = books.select(offcut_claims.c.offcut_id).where(mine)
    ids = sorted(connection.execute(wanted).scalars())
    held = set(connection.execute(have).scalars())
    _claim(books, connection, life.quote_id, [one for one in ids if one not in held], day)
    kept = books.update(offcut_claims).where(mine)
    connection.execute(kept.values(until=hold.until, used=hold.used))


def _claim(
    books: Books, connection: Connection, quote_id: str, ids: Sequence[str], day: date
) -> None:
    """Claim offcuts by their ids' order, so that two that claim the same never deadlock."""
    for offcut_id in ids:
        over = (offcut_claims.c.offcut_id == offcut_id) & (offcut_claims.c.until < day)
        connection.execute(books.delete(offcut_claims).where(over))
        row = {"offcut_id": offcut_id, "quote_id": quote_id, "until": None, "used": False}
        try:
            books.insert(connection, offcut_claims, [row])
        except IntegrityError:
            raise OffcutTaken(
                f"The offcut {offcut_id} of this quote is claimed by another quote, or gone.",
                advice="Make the quote again; it is then cut from what is left.",
            ) from None
