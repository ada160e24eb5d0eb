"""Keeps the orders of quotes that are older than that, of every dealer: ``evenbay keep-orders``."""

import argparse

from flask import g
from sqlalchemy import select

from service.adapters.storage.books import Books
from service.adapters.storage.tables import dealers
from service.adapters.storage.unkept_orders import SqlUnkept
from service.api.context import context
from service.api.kept_requests import read_again
from service.app import create_app
from service.settings import Settings
from service.usecases.callers import Caller
from service.usecases.keep_orders import Done, keep_orders

WHO = "keep-orders"


def keep(_asked: argparse.Namespace, settings: Settings) -> int:
    """Keep them, and say of how many."""
    app = create_app(settings)
    engine = app.extensions["evenbay"].engine
    done = Done(0, 0)
    try:
        with engine.connect() as connection:
            every = list(connection.execute(select(dealers.c.id).order_by(dealers.c.id)).scalars())
        for dealer in every:
            with app.app_context():
                g.stores = context().open_stores(Caller(dealer, WHO, frozenset()))
                came = keep_orders(
                    SqlUnkept(Books(engine, dealer, WHO)),
                    quotes=g.stores.quotes,
                    read=read_again,
                    press=context().press,
                )
            done = Done(done.kept + came.kept, done.left + came.left)
    finally:
        engine.dispose()
    print(f"Orders kept of {done.kept} open quotes; {done.left} can only be planned again.")
    return 0
