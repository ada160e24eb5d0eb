"""Which form of an answer goes out: compressed or plain, whole or "not modified".

Both belong together: the entity tag is that of the form, so the form is settled first, then the
tag is compared, and only what is really sent is compressed.

Source: RFC 9110, sections 8.8.3 (ETag), 13.1 (preconditions); RFC 9111, section 5.2.2.
"""

from hashlib import blake2b

from flask import Flask, Response, request

from service.api.manners.compression import (
    may_shrink,
    of_coded,
    prefers_gzip,
    shrink,
)
from service.api.manners.preconditions import READING, find_condition, unless_wanted
from service.api.manners.traits import traits_asked


def register(app: Flask) -> None:
    """Settle the form of every answer."""
    files: dict[str, bytes] = {}  # those of the documentation page, compressed once

    def settle(response: Response) -> Response:
        readable = request.method in READING and response.status_code == 200
        if readable:
            _make_cacheable(response)
            unwanted = unless_wanted(response)
            if unwanted is not None:
                response, readable = unwanted, False
        if response.status_code >= 400:
            response.headers.setdefault("Cache-Control", "no-store")
        smaller = _settle_coding(response)
        if readable:
            response.make_conditional(request)
        if smaller and response.status_code != 304:
            _compress(response, files)
        return response

    app.before_request(find_condition)
    app.after_request(settle)


def _make_cacheable(response: Response) -> None:
    """Give a stable answer its tag; what it tells is for the caller alone and soon told anew."""
    if not traits_asked().stable:
        response.headers.setdefault("Cache-Control", "no-store")
    if response.cache_control.no_store:
        return
    if "ETag" not in response.headers:
        response.set_etag(blake2b(response.get_data(), digest_size=16).hexdigest())
    response.headers.setdefault("Cache-Control", "private, no-cache")


def _settle_coding(response: Response) -> bool:
    if not may_shrink(response):
        return False
    response.vary.add("Accept-Encoding")
    if not prefers_gzip(request, response.content_length or 0):
        return False
    tag, weak = response.get_etag()
    if tag and not weak:
        response.set_etag(of_coded(tag))
    return True


def _compress(response: Response, files: dict[str, bytes]) -> None:
    is_file, tag = response.direct_passthrough, response.headers.get("ETag", "")
    response.direct_passthrough = False
    content = response.get_data()
    smaller = files.get(tag) if is_file else None
    if smaller is None:
        smaller = shrink(content)
    if is_file:
        files[tag] = smaller
    response.set_data(smaller)
    response.headers["Content-Encoding"] = "gzip"
