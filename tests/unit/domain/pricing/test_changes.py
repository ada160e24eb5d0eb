"""The difference of two quotes, in numbers and in words."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from service.domain.pricing.changes import FiguredLine, Figures, LineChange, TotalChange, compare


def line(sku, quantity="2", price="3.50", length="", length_nm=None, kind="goods"):
    net = Decimal(quantity) * Decimal(price)
    return FiguredLine(
        kind, sku, f"part {sku}", length, length_nm, Decimal(quantity), "C62", Decimal(price), net
    )


def figures(*lines, currency="USD", **facts):
    net = sum((one.net for one in lines), Decimal(0))
    return Figures(currency, lines, {"net": net, "gross": net}, facts)


def test_the_same_quote_has_no_changes():
    quote = figures(line("A"), line("B"), posts="7")
    changes = compare(quote, quote)
    assert (changes.lines, changes.totals, changes.facts, changes.words) == ((), (), (), ())


def test_lines_that_are_new_gone_and_different():
    before = figures(line("A"), line("B"), line("C"), posts="7")
    after = figures(line("A", "3"), line("C", price="4.00"), line("D"), posts="8")
    changes = compare(before, after)
    assert [(c.line.sku, c.before is None, c.after is None) for c in changes.lines] == [
        ("A", False, False),
        ("C", False, False),
        ("D", True, False),
        ("B", False, True),
    ]
    assert changes.words == (
        "posts: 7 → 8",
        "A (part A): quantity 2 → 3, net 7.00 → 10.50 USD",
        "C (part C): unit price 3.50 → 4.00 USD, net 7.00 → 8.00 USD",
        "new: D (part D), 2 C62, 7.00 USD",
        "no longer: B (part B), 2 C62, 7.00 USD",
        "total: 21.00 → 25.50 USD (+4.50 USD, +21.4 %)",
    )


def test_a_length_printed_in_other_units_is_no_change():
    before = figures(line("A", length="8' 0\"", length_nm=2_438_400_000))
    after = figures(line("A", length="2438.4 mm", length_nm=2_438_400_000))
    assert compare(before, after).lines == ()


def test_two_lines_of_one_key_pair_in_their_order():
    before = figures(line("A", "1"), line("A", "2"))
    after = figures(line("A", "1"))
    (change,) = compare(before, after).lines
    assert change == LineChange(line("A", "2"), None)


def test_another_currency_is_said_first_and_a_total_that_only_one_has():
    before = figures(line("A"))
    after = replace(figures(line("A"), currency="CAD"), totals={"gross": Decimal("7.00")})
    changes = compare(before, after)
    assert changes.words[0] == "currency: USD → CAD"
    assert changes.totals == (TotalChange("net", Decimal("7.00"), None),)


SKUS = st.sampled_from("ABC")
LINES = st.builds(line, SKUS, st.sampled_from(["1", "2"]), st.sampled_from(["1.10", "2.20"]))
QUOTES = st.lists(LINES, max_size=6).map(lambda lines: figures(*lines))


@given(QUOTES, QUOTES)
def test_what_the_changes_add_is_the_difference_of_the_totals(before, after):
    moved = sum((change.net for change in compare(before, after).lines), Decimal(0))
    assert moved == after.totals["net"] - before.totals["net"]


@given(QUOTES, QUOTES)
def test_the_way_back_undoes_it(before, after):
    there, back = compare(before, after).lines, compare(after, before).lines
    assert sorted(change.net for change in there) == sorted(-change.net for change in back)
