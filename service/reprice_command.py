"""The commands about re-pricing runs: a client of the service with a progress bar."""

import argparse
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tqdm import tqdm

from service.reprice_client import CallFailed, Client, Json
from service.usecases.repricing.records import ANY_PRICES, OPEN, Mode, Revisions

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]

_STEPS = {"pause": "let a run rest", "resume": "let it go on", "cancel": "end it for good"}
_FILTERS = {
    "reference": "only quotes with this reference",
    "outside_reference": "only quotes with this name in your books",
    "series": "only the series of this first quote",
    "made_from": "only quotes made on this day or later",
    "made_to": "only quotes made on this day or earlier",
    "priced_by": f'only quotes priced by this table, or "{ANY_PRICES}"; if left out, by TABLE',
}
_THRESHOLDS = {
    "change_rate": "revise what changes by more than this part, such as 0.02",
    "change_amount": "revise what changes by more than this amount",
    "margin_under": "list, and revise, what has less margin than this part of the net",
}
_MOST_SHOWN = 5
_MOST_DIGITS = 9  # of a version; a name may hold an at sign too


def add_commands(commands: "Commands") -> None:
    """Describe the commands; each sets ``on_runs`` to what it does."""
    parser = commands.add_parser("reprice", help="price kept quotes again, on a running service")
    actions = parser.add_subparsers(required=True, metavar="action")
    start = _action(actions, "start", "begin a run and watch it", _start)
    start.add_argument("table", metavar="TABLE[@VERSION]", help="name or id of a kept price table")
    start.add_argument("--on", help="day whose prices count, such as 2026-12-01; today if left out")
    start.add_argument(
        "--mode", choices=[one.value for one in Mode], default=Mode.KEEP_MATERIAL.value
    )
    lives = [one.value for one in Revisions]
    start.add_argument("--revisions", choices=lives, default=Revisions.DRAFT.value)
    states = sorted(one.value for one in OPEN)
    start.add_argument("--state", choices=states, action="append", help="repeatable")
    for name, text in {**_FILTERS, **_THRESHOLDS}.items():
        start.add_argument(f"--{name.replace('_', '-')}", help=text)
    start.add_argument("--dry-run", action="store_true", help="compute and list, revise nothing")
    start.add_argument("--note", help="your own words")
    start.add_argument("--no-wait", action="store_true", help="print its id and end")
    watch = _action(actions, "watch", "watch a run until it is over", _watch)
    for waiting in (start, watch):
        waiting.add_argument("--csv", type=Path, help="then write its results to this file")
    watch.add_argument("run_id", metavar="RUN", help="id of the run")
    for step, text in _STEPS.items():
        _action(actions, step, text, _step).add_argument(
            "run_id", metavar="RUN", help="id of the run"
        )
    _action(actions, "list", "list the newest runs", _list)


def _action(actions: Any, name: str, text: str, run: Any) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = actions.add_parser(name, help=text)
    url = os.environ.get("EVENBAY_URL", "http://127.0.0.1:8000")
    parser.add_argument("--url", default=url, help=f"of the service; {url} if left out")
    parser.add_argument("--key-file", type=Path, help="holds the key; else EVENBAY_KEY does")
    parser.set_defaults(on_runs=run, step=name)
    return parser


def reprice(asked: argparse.Namespace) -> int:
    """Run one of the commands.

    Returns:
        0 when the run did what it should, 1 when it or the call failed, 2 where nothing was asked
        for because a word of the command cannot be.
    """
    if wrong := _wrong(asked):
        print(f"evenbay: {wrong}", file=sys.stderr)
        return 2
    try:
        key = asked.key_file.read_text() if asked.key_file else os.environ.get("EVENBAY_KEY", "")
    except OSError as error:
        print(f"evenbay: {asked.key_file}: {error.strerror}", file=sys.stderr)
        return 2
    if not key.strip():
        print("evenbay: put a key in EVENBAY_KEY, or name its file by --key-file", file=sys.stderr)
        return 2
    try:
        code: int = asked.on_runs(asked, Client(asked.url, key.strip()))
    except (CallFailed, OSError) as error:
        print(f"evenbay: {error}", file=sys.stderr)
        return 1
    return code


def _wrong(asked: argparse.Namespace) -> str:
    """Say what of a command cannot be, "" for nothing."""
    if not asked.url.startswith(("http://", "https://")):
        return "the address of the service begins with http:// or https://"
    sheet: Path | None = getattr(asked, "csv", None)
    if sheet is not None and not sheet.parent.is_dir():
        return f"{sheet.parent} is no directory"
    return ""


def _start(asked: argparse.Namespace, client: Client) -> int:
    run = client.begin(_wish(asked))
    if asked.no_wait:
        print(run["id"])
        return 0
    return _follow(asked, client, run["id"])


def _wish(asked: argparse.Namespace) -> Json:
    table, _, version = asked.table.rpartition("@")
    numbered = table and version.isdecimal() and len(version) <= _MOST_DIGITS
    named: Json = (
        {"stored": table, "version": int(version)} if numbered else {"stored": asked.table}
    )
    quotes = {name: getattr(asked, name) for name in _FILTERS if getattr(asked, name)}
    least = {name: getattr(asked, name) for name in _THRESHOLDS if getattr(asked, name)}
    wish: Json = {"price_table": named, "mode": asked.mode, "revisions": asked.revisions}
    wish |= {"quotes": quotes | ({"states": asked.state} if asked.state else {})}
    wish |= {"thresholds": least, "dry_run": asked.dry_run}
    return wish | {name: getattr(asked, name) for name in ("on", "note") if getattr(asked, name)}


def _watch(asked: argparse.Namespace, client: Client) -> int:
    return _follow(asked, client, asked.run_id)


def _follow(asked: argparse.Namespace, client: Client, run_id: str) -> int:
    """Show how far a run is until it is over, and what it came to."""
    print(f"run {run_id}", file=sys.stderr)
    run: Json = {}
    with tqdm(unit=" quotes", desc="planned", disable=None, file=sys.stderr) as bar:
        try:
            for run in client.watch(run_id):
                bar.total = run["progress"]["quotes"]
                bar.set_description_str(run["state"])
                bar.update(run["summary"]["quotes"] - bar.n)
        except KeyboardInterrupt:
            bar.close()
            print(f"It goes on; end it with: evenbay reprice cancel {run_id}", file=sys.stderr)
            return 1
    _print(run)
    if asked.csv:
        with asked.csv.open("wb") as file:
            client.save_results(run_id, file)
        print(f"The results are in {asked.csv}.")
    return 0 if run["state"] == "finished" and not run["progress"]["failed"] else 1


def _print(run: Json) -> None:
    summary, prices = run["summary"], run["prices"]
    dry = ", dry: nothing was revised" if run["dry_run"] else ""
    print(f"{prices['name']} {prices['version']} on {prices['on']}: {run['state']}{dry}")
    if run["reason"]:
        print(run["reason"])
    for count in filter(lambda one: one["quotes"], summary["outcomes"]):
        print(f"{count['quotes']:>10}  {count['outcome']}")
    if summary["under_floor"]:
        print(f"{summary['under_floor']:>10}  under the margin floor")
    change = summary["change"]
    print(f"changed quotes together: {change['amount']} {change['currency']}")
    for part in summary["parts"][:_MOST_SHOWN]:
        print(f"{part['change']['amount']:>14}  {part['sku'] or part['name']}")
    for part in summary["without_price"][:_MOST_SHOWN]:
        print(f"no price for {part['sku']}, in {part['quotes']} quotes")


def _step(asked: argparse.Namespace, client: Client) -> int:
    print(client.step(asked.run_id, asked.step)["state"])
    return 0


def _list(_asked: argparse.Namespace, client: Client) -> int:
    for run in client.newest():
        made, prices = run["created_at"][:16], run["prices"]
        print(f"{run['id']}  {made}  {run['state']:9}  {prices['name']} {prices['version']}")
    return 0
