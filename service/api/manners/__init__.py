"""Conventions of HTTP that hold for every operation, apart from what it is about."""

from flask import Flask

from service.api.manners import (
    cors,
    deprecation,
    negotiation,
    rates,
    representations,
    request_ids,
    sentences,
)
from service.api.manners.cors import OriginCheck


def register(app: Flask, allowed: OriginCheck) -> None:
    """Give the application its manners; answers pass them in the opposite order.

    Args:
        app: The application; whatever asks who calls is registered after this.
        allowed: Tells the origins whose pages may call.
    """
    request_ids.register(app)
    rates.register(app)
    cors.register(app, allowed)
    deprecation.register(app)
    negotiation.register(app)
    representations.register(app)
    sentences.register(app)
