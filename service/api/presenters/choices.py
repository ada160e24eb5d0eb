"""What else would have done for each run, as plain dicts."""

from service.api.presenters.values import Json, length, lengths
from service.domain.layout.choice_records import RunChoice, RunOption
from service.usecases.orders import Units


def present_choice(choice: RunChoice, units: Units) -> Json:
    """Give what was picked for a run and its options, the best first."""
    return {
        "run": choice.run,
        "picked": choice.picked,
        "options": [_option(option, units) for option in choice.options],
    }


def _option(option: RunOption, units: Units) -> Json:
    return {
        "posts": option.posts,
        "spans": lengths(option.spans_nm, units),
        "uneven": length(option.uneven_nm, units),
        "symmetric": option.symmetric,
        "away_from_wish": length(option.cost_nm, units),
    }
