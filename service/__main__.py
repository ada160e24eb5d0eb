"""The command line: serve, migrate, back up, events, keys, re-pricing, documents, demo."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from service import __version__, keys_command, reprice_command
from service.settings import Settings, from_environment
from service.usecases.outages import StoreUnavailable, StoreUnusable


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns:
        0 when it did what it was asked, 1 when it could not, 2 for a wrong command line.
    """
    asked = _parser().parse_args(arguments)
    try:
        settings = from_environment()
    except ValueError as error:
        print(f"evenbay: {error}", file=sys.stderr)
        return 2
    try:
        code: int = asked.run(asked, settings)
    except StoreUnusable as error:
        print(f"evenbay: {error}", file=sys.stderr)
        return 1
    except StoreUnavailable as error:
        print(f"evenbay: {error} {_first_line(error.__cause__)}".rstrip(), file=sys.stderr)
        return 1
    return code


def _first_line(error: BaseException | None) -> str:
    return next(iter(str(error or "").splitlines()), "")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser("evenbay", description="Railing quotes over HTTP.")
    parser.add_argument("--version", action="version", version=__version__)
    commands = parser.add_subparsers(required=True, metavar="command")

    serve = commands.add_parser("serve", help="start the web server")
    serve.set_defaults(run=_serve)

    migrate = commands.add_parser("migrate", help="bring the database up to date")
    migrate.set_defaults(run=_migrate)

    orders = commands.add_parser(
        "keep-orders", help="keep the orders of open quotes made before orders were kept"
    )
    orders.set_defaults(run=_keep_orders)

    backup = commands.add_parser("backup", help="copy the embedded database while it is served")
    backup.add_argument("file", type=Path, help="the copy; it must not be there yet")
    backup.set_defaults(run=_backup)

    deliver = commands.add_parser("deliver", help="send events to those who listen")
    deliver.add_argument("--once", action="store_true", help="send what is due now, and end")
    deliver.set_defaults(run=_deliver)

    work = commands.add_parser("work", help="work on re-pricing runs")
    work.add_argument("--once", action="store_true", help="do what there is to do now, and end")
    work.add_argument("--processes", type=int, help="keep so many processes at work")
    work.add_argument("--beside", type=int, help=argparse.SUPPRESS)  # ends when that one does
    work.set_defaults(run=_work)

    keys_command.add_commands(commands)
    commands.choices["keys"].set_defaults(run=_keys)

    reprice_command.add_commands(commands)
    commands.choices["reprice"].set_defaults(run=_reprice)

    openapi = commands.add_parser("openapi", help="write the OpenAPI document")
    openapi.add_argument("file", nargs="?", type=Path, help="where to; standard output if absent")
    openapi.set_defaults(run=_openapi)

    confirm = commands.add_parser("confirm", help="list what codes have from memory, in a document")
    confirm.add_argument("file", type=Path, help="a text with the marks of the list")
    confirm.set_defaults(run=_confirm)

    demo = commands.add_parser("demo", help="quote the demo deck and print the quote")
    demo.add_argument("--keep", action="store_true", help="keep serving until interrupted")
    demo.add_argument(
        "--drawing", type=Path, default=Path("var/demo-drawing.svg"), help="where to draw"
    )
    demo.set_defaults(run=_demo)
    return parser


def _serve(_asked: argparse.Namespace, settings: Settings) -> int:
    from gunicorn.app.wsgiapp import WSGIApplication

    from service.adapters.storage.engine import connect

    connect(settings.database_url).dispose()  # so that a wrong URL is told here and not by workers
    if settings.database_url.startswith("sqlite"):
        _upgrade(settings)  # any other database is migrated by its operator, with "migrate"
    sys.argv = ["evenbay", "--config", "python:service.gunicorn_conf"]
    WSGIApplication("%(prog)s").run()
    return 0


def _migrate(_asked: argparse.Namespace, settings: Settings) -> int:
    _upgrade(settings)
    print("The database is up to date.")
    return 0


def _keep_orders(asked: argparse.Namespace, settings: Settings) -> int:
    from service.keep_orders_command import keep

    if settings.database_url.startswith("sqlite"):
        _upgrade(settings)
    return keep(asked, settings)


def _backup(asked: argparse.Namespace, settings: Settings) -> int:
    from service.adapters.storage.backup import NoCopy, back_up

    try:
        back_up(settings.database_url, asked.file)
    except NoCopy as error:
        print(f"evenbay: {error}", file=sys.stderr)
        return 1
    print(f"The database is copied to {asked.file}.")
    return 0


def _deliver(asked: argparse.Namespace, settings: Settings) -> int:
    from service.deliver_command import deliver

    if settings.database_url.startswith("sqlite"):
        _upgrade(settings)
    return deliver(asked, settings)


def _work(asked: argparse.Namespace, settings: Settings) -> int:
    from service.work_command import work

    if settings.database_url.startswith("sqlite") and not asked.beside:
        _upgrade(settings)
    return work(asked, settings)


def _keys(asked: argparse.Namespace, settings: Settings) -> int:
    from service.adapters.storage.engine import connect

    if settings.database_url.startswith("sqlite"):
        _upgrade(settings)
    engine = connect(settings.database_url)
    try:
        code: int = asked.on_keys(asked, engine)
    finally:
        engine.dispose()
    return code


def _reprice(asked: argparse.Namespace, _settings: Settings) -> int:
    return reprice_command.reprice(asked)


def _upgrade(settings: Settings) -> None:
    from service.adapters.storage import migrate
    from service.adapters.storage.engine import connect

    engine = connect(settings.database_url)
    migrate.upgrade(engine)
    engine.dispose()


def _openapi(asked: argparse.Namespace, settings: Settings) -> int:
    from service.api.document import document
    from service.app import create_app

    content = document(create_app(settings).extensions["openapi"])
    if asked.file:
        asked.file.write_bytes(content)
    else:
        sys.stdout.buffer.write(content)
    return 0


def _confirm(asked: argparse.Namespace, _settings: Settings) -> int:
    from service.adapters.code_library import open_library
    from service.adapters.documents.print_list import with_print_list

    library = open_library()
    text = asked.file.read_text(encoding="utf-8")
    written = with_print_list(text, library.editions_held(), library.places_held())
    asked.file.write_text(written, encoding="utf-8")
    return 0


def _demo(asked: argparse.Namespace, _settings: Settings) -> int:
    from service.demo import demonstrate

    return demonstrate(asked.drawing, keep=asked.keep)


if __name__ == "__main__":
    sys.exit(main())
