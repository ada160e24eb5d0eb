"""The template of the route asked for: a bounded set of names, without ids or anything typed."""

import re

from flask import request

UNKNOWN = "unknown"
METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
_VARIABLE = re.compile(r"<(?:[^:<>]+:)?([^<>]+)>")


def route_asked() -> str:
    """Give the template as the OpenAPI document writes it, such as /v1/quotes/{quote_id}."""
    rule = request.url_rule
    return UNKNOWN if rule is None else _VARIABLE.sub(r"{\1}", rule.rule)


def method_asked() -> str:
    """Give the method, or "other" for those that callers make up."""
    return request.method if request.method in METHODS else "other"
