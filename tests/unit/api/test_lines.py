"""Bodies parted into lines, however they arrive."""

import tracemalloc
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from service.api.lines import lines_in

LONGEST = 6
# Neither blanks nor marks of byte order, which lines lose at their ends.
LINE = st.binary(max_size=9).map(lambda line: bytes(b % 26 + 97 for b in line))


@given(lines=st.lists(LINE), cuts=st.lists(st.integers(0, 60)), ended=st.booleans())
def test_lines_are_the_same_however_they_are_cut_into_pieces(lines, cuts, ended):
    body = b"\n".join(lines) + (b"\n" if ended and lines else b"")
    places = [0, *sorted(cut for cut in cuts if cut < len(body)), len(body)]
    pieces = [body[a:b] for a, b in pairwise(places) if b > a]
    # bytes.splitlines of the standard library is the oracle.
    expected = [line if len(line) <= LONGEST else None for line in body.splitlines()]
    found = list(lines_in(pieces, LONGEST))
    assert [line.content for line in found] == expected
    assert [line.number for line in found] == list(range(1, len(expected) + 1))


def test_of_an_endless_line_no_more_is_held_than_the_longest():
    def endless():
        for _ in range(2000):
            yield b"x" * 10_000
        yield b"\nshort"

    tracemalloc.start()
    try:
        found = [line.content for line in lines_in(endless(), 50_000)]
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found == [None, b"short"]
    assert peak < 200_000  # of 20 000 000 that were sent
