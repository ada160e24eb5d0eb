"""Re-pricing runs and their results as they are answered."""

from service.api.presenters.values import Json, decimal, moment, money
from service.usecases.repricing.records import Outcome, Run, RunResult, Summary, Thresholds, Which

ADDRESS = "/v1/repricing-runs"


def present_run(run: Run, *, costs: bool) -> Json:
    """Present a run; what tells of costs only to those who may see them."""
    wish, here = run.wish, f"{ADDRESS}/{run.id}"
    return {
        "id": run.id,
        "state": run.state.value,
        "mode": wish.mode.value,
        "prices": {
            "id": run.prices.table_id,
            "name": run.prices.table_name,
            "version": run.prices.version,
            "currency": run.prices.currency,
            "on": wish.on.isoformat(),
        },
        "quotes": _which(wish.which),
        "thresholds": _thresholds(wish.thresholds, costs),
        "revisions": wish.revisions.value,
        "dry_run": wish.dry_run,
        "note": wish.note,
        "created_at": moment(run.created_at),
        "started_at": moment(run.started_at),
        "finished_at": moment(run.finished_at),
        "reason": run.reason,
        "progress": {
            "chunks": run.progress.chunks,
            "done": run.progress.done,
            "failed": run.progress.failed,
            "quotes": run.progress.quotes,
        },
        "summary": _summary(run.summary, costs),
        "links": {"self": here, "results": f"{here}/results", "csv": f"{here}/results.csv"},
    }


def present_result(result: RunResult, *, costs: bool) -> Json:
    """Present what came of one quote."""
    change = None if result.after is None else result.after + result.before * -1
    margin = result.margin if costs else None
    return {
        "quote": result.quote_id,
        "reference": result.reference,
        "outside_reference": result.outside_reference,
        "outcome": result.outcome.value,
        "revision": result.revision_id or None,
        "before": money(result.before),
        "after": None if result.after is None else money(result.after),
        "change": None if change is None else money(change),
        "margin": None if margin is None else decimal(margin),
        "under_floor": result.under_floor if costs else None,
        "detail": result.detail,
    }


def _which(which: Which) -> Json:
    return {
        "states": sorted(state.value for state in which.states),
        "reference": which.reference or None,
        "outside_reference": which.outside_reference or None,
        "series": which.series or None,
        "made_from": which.made_from.isoformat() if which.made_from else None,
        "made_to": which.made_to.isoformat() if which.made_to else None,
        "priced_by": which.priced_by or None,
    }


def _thresholds(least: Thresholds, costs: bool) -> Json:
    shown = {"change_rate": least.change_rate, "change_amount": least.change_amount}
    shown["margin_under"] = least.margin_under if costs else None
    return {name: None if value is None else decimal(value) for name, value in shown.items()}


def _summary(summary: Summary, costs: bool) -> Json:
    return {
        "quotes": summary.quotes,
        "outcomes": [
            {"outcome": outcome.value, "quotes": summary.outcomes.get(outcome, 0)}
            for outcome in Outcome
        ],
        "before": money(summary.before),
        "after": money(summary.after),
        "change": money(summary.change),
        "parts": [
            {
                "kind": part.kind,
                "sku": part.sku,
                "name": part.name,
                "quotes": part.quotes,
                "change": money(part.change),
            }
            for part in summary.parts
        ],
        "under_floor": summary.under_floor if costs else None,
        "without_price": [{"sku": sku, "quotes": quotes} for sku, quotes in summary.without_price],
    }
