"""The commands about keys: make one, list them, revoke one.

They work on the database itself, because whoever can reach that needs no key.
"""

import argparse
import sys
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import Engine, select, update

from service.adapters.storage.books import Books
from service.adapters.storage.keys import dealer_named, new_key
from service.adapters.storage.tables import dealers, keys
from service.usecases.callers import IN_ADDRESSES, MEANING, PUBLISHABLE, KeyWish, Scope
from service.usecases.origins import EXAMPLE, origin_of

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

WHO = "command line"  # in the audit trail


def add_commands(commands: "Commands") -> None:
    """Describe the commands; each sets ``on_keys`` to what it runs."""
    keys_parser = commands.add_parser("keys", help="make, list and revoke the keys of callers")
    actions = keys_parser.add_subparsers(required=True, metavar="action")
    create = actions.add_parser("create", help="make a key and print it, this once")
    create.add_argument("--dealer", required=True, help="whose books it opens; entered if new")
    create.add_argument("--label", default="", help="what it is for, in your words")
    create.add_argument(
        "--scopes",
        default=",".join(scope.value for scope in MEANING),
        help=f"all if left out; of {', '.join(MEANING)}",
    )
    create.add_argument("--days", type=int, help="how long it is good; for good if left out")
    create.add_argument(
        "--publishable", action="store_true", help="for a web page: it may only estimate"
    )
    create.add_argument(
        "--origin",
        action="append",
        default=[],
        help=f"of such a page, such as {EXAMPLE}; repeatable",
    )
    create.add_argument(
        "--sheets", action="store_true", help="a publishable key that addresses may hold as well"
    )
    create.add_argument("--per-minute", type=int, help="most requests in a minute")
    create.set_defaults(on_keys=_create)
    listing = actions.add_parser("list", help="list the keys, which are named by their prefix")
    listing.set_defaults(on_keys=_list)
    revoke = actions.add_parser("revoke", help="end a key now")
    revoke.add_argument("prefix", help="such as evb_ab12cd34")
    revoke.set_defaults(on_keys=_revoke)


def _create(asked: argparse.Namespace, engine: Engine) -> int:
    try:
        wish = _wish(asked)
    except ValueError as error:
        print(f"evenbay: {error}", file=sys.stderr)
        return 2
    now = datetime.now(UTC)
    with engine.begin() as connection:
        known = connection.execute(select(dealers.c.id).where(dealers.c.name == asked.dealer))
        is_new = known.first() is None
        dealer = dealer_named(connection, asked.dealer, now)
        key_id, key = new_key(connection, dealer, wish, now)
        Books(engine, dealer, WHO).note(connection, now, "key.made", key_id, label=wish.label)
    if is_new:
        print(f"{asked.dealer} is a new dealer, with books of its own.", file=sys.stderr)
    print(key)
    print("Keep this key; it is shown this once.", file=sys.stderr)
    return 0


def _wish(asked: argparse.Namespace) -> KeyWish:
    if not asked.dealer.strip():
        raise ValueError("--dealer is empty; it takes the dealer's name")
    if asked.sheets and not asked.publishable:
        raise ValueError("--sheets goes with --publishable: addresses hold no other key")
    if asked.publishable and not asked.origin and not asked.sheets:
        raise ValueError("a publishable key takes the --origin of each page it is used on")
    if asked.origin and not asked.publishable:
        raise ValueError("--origin is for --publishable; only a publishable key is bound to pages")
    for number, name in ((asked.days, "--days"), (asked.per_minute, "--per-minute")):
        if number is not None and not 1 <= number <= 100_000:
            raise ValueError(f"{name} takes a whole number from 1 to 100000")
    until = datetime.now(UTC) + timedelta(days=asked.days) if asked.days else None
    return KeyWish(
        label=asked.label,
        scopes=_publishable(asked) if asked.publishable else _scopes(asked.scopes),
        publishable=asked.publishable,
        origins=tuple(dict.fromkeys(map(origin_of, asked.origin))),
        per_minute=asked.per_minute,
        expires_at=until,
    )


def _publishable(asked: argparse.Namespace) -> frozenset[Scope]:
    return IN_ADDRESSES if asked.sheets else PUBLISHABLE


def _scopes(text: str) -> frozenset[Scope]:
    names = [name.strip() for name in text.split(",") if name.strip()]
    unknown = [name for name in names if name not in MEANING]
    if unknown or not names:
        raise ValueError(f"no scope is called {', '.join(unknown)!r}; one of {', '.join(MEANING)}")
    return frozenset(Scope(name) for name in names)


def _list(_asked: argparse.Namespace, engine: Engine) -> int:
    query = select(keys, dealers.c.name).join(dealers).order_by(keys.c.created_at, keys.c.prefix)
    with engine.connect() as connection:
        for row in connection.execute(query):
            ends = row.revoked_at or row.expires_at
            state = "revoked" if row.revoked_at else f"until {ends:%Y-%m-%d}" if ends else "good"
            print(f"{row.prefix}  {state:16}  {row.name}  {row.label}".rstrip())
    return 0


def _revoke(asked: argparse.Namespace, engine: Engine) -> int:
    now = datetime.now(UTC)
    mine = (keys.c.prefix == asked.prefix) & keys.c.revoked_at.is_(None)
    with engine.begin() as connection:
        found = connection.execute(select(keys.c.id, keys.c.dealer).where(mine)).one_or_none()
        if found is not None:
            connection.execute(update(keys).where(mine).values(revoked_at=now))
            Books(engine, found.dealer, WHO).note(connection, now, "key.revoked", found.id)
    if found is None:
        print(f"evenbay: no key that is good begins with {asked.prefix}", file=sys.stderr)
        return 1
    print(f"{asked.prefix} is revoked.")
    return 0
