"""Where pages end: nothing is lost or clipped, and what asks for it stays together."""

from hypothesis import given
from hypothesis import strategies as st

from service.adapters.documents.letters import Face
from service.adapters.documents.paging import paged
from service.adapters.documents.strips import Letters, Strip, Tag

TALL = 100.0


def strip(height, text="", **more):
    return Strip(height, (Letters(0.0, 1.0, text, 9.0, Face.PLAIN, Tag("P")),), **more)


def texts(pages):
    return [[s.inks[0].text for s, _ in page] for page in pages]


strips = st.lists(
    st.builds(
        strip,
        st.floats(1.0, 60.0),
        above=st.floats(0.0, 9.0),
        keep=st.booleans(),
        fresh=st.booleans(),
    ),
    max_size=40,
)


@given(strips)
def test_all_strips_are_set_in_order_and_within_the_page(many):
    pages = paged(many, TALL, TALL)
    assert [s for page in pages for s, _ in page] == many
    for page in pages:
        foot = 0.0
        for one, y in page:
            assert y >= foot
            foot = y + one.height
        assert foot <= TALL + 0.001


@given(strips)
def test_a_strip_begins_a_page_if_it_asks_to(many):
    pages = paged(many, TALL, TALL)
    for page in pages:
        assert not any(one.fresh for one, _ in page[1:])


def chains(many):
    """Give strips that are kept together, as lists."""
    chain = []
    for one in many:
        if one.fresh and chain:
            yield chain
            chain = []
        chain.append(one)
        if not one.keep:
            yield chain
            chain = []
    yield chain


@given(strips)
def test_what_is_kept_together_is_not_parted_where_a_page_can_hold_it(many):
    pages = paged(many, TALL, TALL)
    page_of = {id(one): number for number, page in enumerate(pages) for one, _ in page}
    for chain in chains(many):
        if sum(one.above + one.height for one in chain) <= TALL:
            assert len({page_of[id(one)] for one in chain}) <= 1


def test_a_heading_goes_with_the_first_line_under_it():
    pages = paged([strip(90.0, "a"), strip(5.0, "head", keep=True), strip(8.0, "b")], TALL, TALL)
    assert texts(pages) == [["a"], ["head", "b"]]


def test_what_begins_a_page_is_not_counted_with_what_is_kept_before_it():
    kept = [strip(40.0, "b", keep=True), strip(30.0, "c", keep=True)]
    pages = paged([strip(60.0, "a"), *kept, strip(50.0, "d", fresh=True)], TALL, TALL)
    assert texts(pages) == [["a"], ["b", "c"], ["d"]]


def test_the_heads_of_a_table_are_repeated_and_not_heard_twice():
    head = strip(5.0, "head", keep=True)
    rows = [strip(40.0, f"row {i}", heads=(head,)) for i in range(4)]
    pages = paged([head, *rows], TALL, TALL)
    assert texts(pages) == [["head", "row 0", "row 1"], ["head", "row 2", "row 3"]]
    assert pages[0][0][0].inks[0].tag is not None
    assert pages[1][0][0].inks[0].tag is None


def test_the_first_page_may_have_another_room():
    pages = paged([strip(60.0, "a"), strip(60.0, "b"), strip(30.0, "c")], 125.0, TALL)
    assert texts(pages) == [["a", "b"], ["c"]]
