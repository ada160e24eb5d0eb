"""Whose turn it is, by a clock that goes on with each piece of work."""

from dataclasses import dataclass

from service.usecases.repricing.turns import Turns


@dataclass(frozen=True)
class Piece:
    dealer: str
    run: str = ""


class Worker:
    """Does pieces of work that take so many seconds each."""

    def __init__(self, seconds=5.0, **takes):
        self.time, self.takes = 0.0, takes
        self.turns = Turns(lambda: self.time, seconds)

    def does(self, *waiting):
        piece = self.turns.in_order(waiting)[0]
        self.turns.take(piece.dealer)
        self.time += self.takes.get(piece.dealer, 1.0)
        return piece.dealer + piece.run


LONG, SHORT, THIRD = (Piece(name) for name in ("long", "short", "third"))


def test_each_dealer_has_a_turn_of_some_seconds():
    worker = Worker()
    assert [worker.does(LONG, SHORT) for _ in range(12)] == (
        ["long"] * 5 + ["short"] * 5 + ["long"] * 2
    )


def test_who_never_had_a_turn_waits_for_no_more_than_the_one_at_hand():
    worker = Worker()
    for _ in range(7):
        worker.does(LONG, SHORT)
    assert [worker.does(LONG, SHORT, THIRD) for _ in range(4)] == ["short"] * 3 + ["third"]


def test_who_has_long_pieces_has_one_in_a_turn():
    worker = Worker(long=15.0)
    assert [worker.does(LONG, SHORT) for _ in range(12)] == (["long"] + ["short"] * 5) * 2


def test_a_turn_ends_where_nothing_is_left_to_take():
    worker = Worker()
    assert worker.does(LONG, SHORT) == "long"
    assert [worker.does(SHORT, THIRD) for _ in range(6)] == ["short"] * 5 + ["third"]
    assert worker.does(LONG, SHORT, THIRD) == "third"
    worker.time += 5
    assert worker.does(LONG, SHORT, THIRD) == "long"


def test_one_who_comes_again_and_again_keeps_nobody_waiting():
    worker = Worker(seconds=0.0)
    done = [worker.does(*([SHORT, LONG] if turn % 2 else [LONG])) for turn in range(8)]
    assert done == ["long", "short"] * 4
    assert [worker.does(SHORT, LONG) for _ in range(4)] == ["long", "short"] * 2


def test_of_one_dealer_the_oldest_run_comes_first():
    worker = Worker(seconds=0.0)
    waiting = (Piece("a", "1"), Piece("b", "2"), Piece("a", "3"))
    assert [worker.does(*waiting) for _ in range(4)] == ["a1", "b2", "a1", "b2"]
