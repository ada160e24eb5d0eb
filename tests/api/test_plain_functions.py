"""The service takes every function as plain (``Service.ensure_sync``), so every one has to be."""

from collections.abc import Callable, Iterator
from inspect import iscoroutinefunction
from typing import Any

from flask import Flask


def functions_of(app: Flask) -> Iterator[Callable[..., Any]]:
    yield from app.view_functions.values()
    for hooks in (app.before_request_funcs, app.after_request_funcs, app.teardown_request_funcs):
        for functions in hooks.values():
            yield from functions
    yield from app.teardown_appcontext_funcs
    for by_code in app.error_handler_spec.values():
        for handlers in by_code.values():
            yield from handlers.values()


def test_no_function_of_the_service_is_a_coroutine(app: Flask) -> None:
    found = list(functions_of(app))
    assert len(found) > 100
    assert [one for one in found if iscoroutinefunction(one)] == []
