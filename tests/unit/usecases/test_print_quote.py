"""What is printed from the answer that is kept, and when its pictures are drawn."""

from dataclasses import dataclass
from datetime import date

import pytest

from service.domain.errors import NotReproducible, UnbuildableLayout
from service.usecases import kept_orders as module
from service.usecases.letterhead import UNNAMED
from service.usecases.ports import Inputs
from service.usecases.print_quote import Document, print_quote

LAYOUT = object()


@dataclass(frozen=True)
class Order:
    """As much of an order as is replaced."""

    offcuts: tuple = ()
    use_offcuts: bool = False


ORDER = Order()


class Kept:
    """One quote, kept."""

    def __init__(self):
        self.asked = []

    def answer(self, quote_id):
        self.asked.append(quote_id)
        return b"answer"

    def request(self, _quote_id):
        return b"request"

    def inputs(self, _quote_id):
        return Inputs(on=date(2026, 11, 25))


class Press:
    """Holds an answer against a layout."""

    def __init__(self, same):
        self.same = same

    def day(self, _answer):
        return date(2026, 11, 25)

    def shows(self, _answer, layout, _order):
        return self.same and layout is LAYOUT


def read(_body, _inputs):
    return ORDER


def unreadable(_body, _inputs):
    raise NotReproducible("This version no longer reads the order.")


def show(document, answer, layout, head, _standing):
    return (document, answer, layout, head)


@pytest.fixture
def laid_out(monkeypatch):
    """Lay out without a deck."""
    seen = []
    monkeypatch.setattr(
        module, "lay_out_to_order", lambda order, day: seen.append((order, day)) or LAYOUT
    )
    return seen


def print_it(document, *, same=True, read=read, kept=None):
    return print_quote(
        "7",
        document,
        quotes=kept or Kept(),
        read=read,
        press=Press(same),
        printer=show,
        head=UNNAMED,
    )


@pytest.mark.parametrize("document", [Document.QUOTE, Document.SITE_SHEETS])
def test_pictures_are_drawn_of_the_layout_that_was_answered(laid_out, document):
    assert print_it(document) == (document, b"answer", LAYOUT, UNNAMED)
    assert laid_out == [(ORDER, date(2026, 11, 25))]


def test_a_code_report_needs_no_layout(laid_out):
    kept = Kept()
    printed = print_it(Document.CODE_REPORT, kept=kept)
    assert printed == (Document.CODE_REPORT, b"answer", None, UNNAMED)
    assert kept.asked == ["7"], "and nothing else of it"
    assert laid_out == []


@pytest.mark.parametrize("how", [{"same": False}, {"read": unreadable}])
def test_a_quote_is_printed_without_a_plan_that_would_not_be_its_own(laid_out, how):
    assert print_it(Document.QUOTE, **how) == (Document.QUOTE, b"answer", None, UNNAMED)


@pytest.mark.parametrize("how", [{"same": False}, {"read": unreadable}])
def test_site_sheets_are_refused_with_elevations_that_would_not_be_the_quotes(laid_out, how):
    with pytest.raises(NotReproducible, match="would not be those of the quote"):
        print_it(Document.SITE_SHEETS, **how)


def test_a_deck_that_can_no_longer_be_laid_out_has_no_plan(monkeypatch):
    def refuse(_order, _day):
        raise UnbuildableLayout("Not with this system.")

    monkeypatch.setattr(module, "lay_out_to_order", refuse)
    assert print_it(Document.QUOTE)[2] is None
