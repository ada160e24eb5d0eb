"""The routes of what is kept whole in versions: systems, pricing rules and amendments."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

import orjson
from flask import Response
from flask_smorest import Blueprint
from marshmallow import Schema

from service.api.auth import stores
from service.api.conditions import ETAG, NEEDED_IF_MATCH, refuse_unseen
from service.api.context import body, context
from service.api.operations import answer, json_of, operation
from service.api.paging import LINK, read_query
from service.api.presenters.catalogue import present_named, present_version
from service.api.presenters.values import Json
from service.api.versions import (
    LOCATION,
    PAGES,
    QUERY,
    VERSION,
    names_page,
    numbered,
    tagged,
    versions_page,
)
from service.usecases.callers import Scope
from service.usecases.catalogue import Document, Draft, Kind, Named, Version

Loaded = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Shelf:
    """One kind of document and how it is spoken of.

    Attributes:
        kind: As its store calls it.
        name: For operations, such as "System"; its plural follows.
        words: For people, such as "railing system"; its plural follows.
        address: Of the resource; the member of a page that lists them follows.
        id_name: Of its id in addresses.
        component: Of its answers; that of a page of them follows.
        first: Schema of a new document; that of a further version follows.
        shown: A new document.
        draft_of: Gives what is kept of a body: as it was sent and as it was loaded.
        content_of: Gives what an answer holds of what is kept.
    """

    kind: Kind
    name: tuple[str, str]
    words: tuple[str, str]
    address: tuple[str, str]
    id_name: str
    component: tuple[str, str]
    first: tuple[Schema, Schema]
    shown: Loaded
    draft_of: Callable[[Loaded, Loaded], Draft]
    content_of: Callable[[Any], Json]

    def present(self, held: Document) -> Json:
        """Give a version of a document."""
        return {
            **present_named(held.named, self.address[0]),
            "version": present_version(held.version),
            **self.content_of(orjson.loads(held.body)),
        }


def routes_of(shelf: Shelf, description: str) -> Blueprint:
    """Route everything that is done with one kind of document."""
    name, address = shelf.name[0], shelf.address[0]
    blueprint = Blueprint(shelf.name[1], shelf.name[1], url_prefix=address, description=description)
    _add_creating(blueprint, shelf)
    _add_listing(blueprint, shelf)
    _add_reading(blueprint, shelf)
    _add_versions(blueprint, shelf, name)
    return blueprint


def _add_creating(blueprint: Blueprint, shelf: Shelf) -> None:
    same = {shelf.id_name: "$response.body#/id"}
    links = {
        f"Get{shelf.name[0]}": {"operationId": f"get{shelf.name[0]}", "parameters": same},
        "ListVersions": {"operationId": f"list{shelf.name[0]}Versions", "parameters": same},
    }

    @operation(
        blueprint,
        "POST ",
        f"create{shelf.name[0]}",
        f"Keep a {shelf.words[0]}",
        needs=Scope.CATALOGUE_WRITE,
        takes=shelf.first[0],
        shown=shelf.shown,
        answers={
            201: {
                "description": "Its first version.",
                "content": json_of(shelf.component[0]),
                "headers": ETAG | LOCATION,
                "links": links,
            }
        },
        refusals=(409,),
    )
    def create() -> Response:
        _, content = body()
        wish = shelf.first[0].load(content)
        named = Named(context().new_id(), wish["name"], context().now(), 1, 1)
        stores().catalogue.add(shelf.kind, named, shelf.draft_of(content, wish))
        return _made(shelf, named.id)


def _add_listing(blueprint: Blueprint, shelf: Shelf) -> None:
    @operation(
        blueprint,
        "GET ",
        f"list{shelf.name[1]}",
        f"List the {shelf.words[1]}",
        needs=Scope.CATALOGUE_READ,
        parameters=PAGES,
        answers={
            200: {
                "description": "A page of them, by name.",
                "content": json_of(shelf.component[1]),
                "headers": LINK,
            }
        },
        refusals=(422,),
    )
    def index() -> Response:
        kept = stores().catalogue
        return names_page(
            shelf.address[1],
            lambda after, most: kept.page(shelf.kind, after, most),
            lambda named: present_named(named, shelf.address[0]),
        )


def _add_reading(blueprint: Blueprint, shelf: Shelf) -> None:
    @operation(
        blueprint,
        f"GET /<uuid:{shelf.id_name}>",
        f"get{shelf.name[0]}",
        f"Read a {shelf.words[0]}",
        needs=Scope.CATALOGUE_READ,
        parameters=[VERSION],
        answers={
            200: {
                "description": "A version of it; the ETag of the newest is the one a change needs.",
                "content": json_of(shelf.component[0]),
                "headers": ETAG,
            }
        },
        refusals=(404, 422),
    )
    def read(**place: UUID) -> Response:
        wish = read_query(QUERY, "version")
        document_id = str(place[shelf.id_name])
        if "version" not in wish:
            held = stores().catalogue.document(shelf.kind, document_id)
            return tagged(shelf.present(held), held.named)
        number = numbered(int(wish["version"]))
        return answer(shelf.present(stores().catalogue.document(shelf.kind, document_id, number)))


def _add_versions(blueprint: Blueprint, shelf: Shelf, name: str) -> None:
    path = f"/<uuid:{shelf.id_name}>/versions"
    shown = {key: value for key, value in shelf.shown.items() if key != "name"}

    @operation(
        blueprint,
        f"GET {path}",
        f"list{name}Versions",
        f"List the versions of a {shelf.words[0]}",
        needs=Scope.CATALOGUE_READ,
        parameters=PAGES,
        answers={
            200: {
                "description": "A page of them, newest first.",
                "content": json_of("VersionPage"),
                "headers": LINK,
            }
        },
        refusals=(404, 422),
    )
    def versions(**place: UUID) -> Response:
        kept, document_id = stores().catalogue, str(place[shelf.id_name])

        def find(before: int, most: int) -> list[Version]:
            return kept.versions(shelf.kind, document_id, before, most)

        return versions_page(find, lambda one: one.number, present_version)

    @operation(
        blueprint,
        f"POST {path}",
        f"add{name}Version",
        f"Keep a further version of a {shelf.words[0]}",
        needs=Scope.CATALOGUE_WRITE,
        description="What the newest version holds already makes no new one, and is answered 200.",
        takes=shelf.first[1],
        shown=shown,
        parameters=[NEEDED_IF_MATCH],
        answers={
            201: {
                "description": "The new version.",
                "content": json_of(shelf.component[0]),
                "headers": ETAG | LOCATION,
            },
            200: {
                "description": "The newest version, which holds the same.",
                "content": json_of(shelf.component[0]),
                "headers": ETAG | LOCATION,
            },
        },
        refusals=(404, 409, 412, 428),
    )
    def add_version(**place: UUID) -> Response:
        kept, document_id = stores().catalogue, str(place[shelf.id_name])
        named = kept.document(shelf.kind, document_id).named
        refuse_unseen(named.name, str(named.revision))
        _, content = body()
        draft = shelf.draft_of(content, shelf.first[1].load(content))
        seen, at = named.revision, context().now()
        new = kept.add_version(shelf.kind, document_id, draft, seen, at)
        return _made(shelf, document_id, 201 if new else 200)


def _made(shelf: Shelf, document_id: str, status: int = 201) -> Response:
    held = stores().catalogue.document(shelf.kind, document_id)
    response = tagged(shelf.present(held), held.named, status)
    here = f"{shelf.address[0]}/{document_id}"
    response.headers["Location"] = f"{here}?version={held.version.number}"
    return response
