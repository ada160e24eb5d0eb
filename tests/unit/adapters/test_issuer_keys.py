"""The keys of an issuer are asked for when they are needed, and seldom, whoever calls."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event

import jwt
import pytest

from service.adapters.issuer_keys import ASKED_AFTER, KEPT_FOR, IssuerKeys
from service.usecases.outages import StoreUnavailable


class Key:
    def __init__(self, key_id):
        self.key_id = key_id


class Issuer:
    """Gives its keys and counts how often; it may be away."""

    def __init__(self, *names):
        self.names, self.asked, self.fails = list(names), 0, None

    def __call__(self):
        self.asked += 1
        if self.fails:
            raise self.fails
        return [Key(name) for name in self.names]


class Clock:
    now = 1000.0

    def __call__(self):
        return self.now


@pytest.fixture
def issuer():
    return Issuer("a", "b")


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def keys(issuer, clock):
    return IssuerKeys(issuer, clock)


def unknown(keys, named):
    with pytest.raises(jwt.InvalidTokenError, match="kid"):
        keys.named(named)


def test_known_keys_are_asked_for_once_in_their_time(keys, issuer, clock):
    for _ in range(50):
        assert keys.named("a").key_id == "a"
        assert keys.named("b").key_id == "b"
    assert issuer.asked == 1
    clock.now += KEPT_FOR
    keys.named("a")
    assert issuer.asked == 2


def test_a_stranger_who_makes_up_names_does_not_make_us_ask_each_time(keys, issuer, clock):
    """A minute of made-up key ids, ten each second."""
    keys.named("a")
    for number in range(600):
        clock.now += 0.1
        unknown(keys, f"made-up-{number}")
        assert keys.named("a").key_id == "a"
    assert issuer.asked <= 1 + 60 / ASKED_AFTER


def test_a_rotation_is_seen_soon(keys, issuer, clock):
    keys.named("a")
    issuer.names = ["c"]
    clock.now += ASKED_AFTER
    assert keys.named("c").key_id == "c"
    unknown(keys, "a")


def test_a_token_that_names_no_key_asks_nobody(keys, issuer):
    unknown(keys, None)
    unknown(keys, ["a"])
    assert issuer.asked == 0


AWAY = jwt.PyJWKClientConnectionError("away")


@pytest.mark.parametrize("why", [AWAY, jwt.PyJWKClientError("no keys"), ValueError("no JSON")])
def test_an_issuer_that_gives_no_keys_is_not_asked_each_time_either(keys, issuer, clock, why):
    issuer.fails = why
    for _ in range(20):
        with pytest.raises(StoreUnavailable, match="issuer"):
            keys.named("a")
    assert issuer.asked == 1
    issuer.fails = None
    clock.now += ASKED_AFTER
    assert keys.named("a").key_id == "a"


def test_what_an_issuer_gave_lasts_its_time_although_it_is_away(keys, issuer, clock):
    keys.named("a")
    issuer.fails = AWAY
    clock.now += ASKED_AFTER
    for _ in range(20):
        with pytest.raises(StoreUnavailable, match="issuer"):
            keys.named("c")  # it may be one of a rotation
        assert keys.named("a").key_id == "a"
    assert issuer.asked == 2
    clock.now += KEPT_FOR
    with pytest.raises(StoreUnavailable, match="issuer"):
        keys.named("a")


def test_good_tokens_do_not_wait_for_an_issuer_that_is_asked_of_a_strange_one(clock):
    asked, answer = Event(), Event()
    given = iter((True, False))

    def slow():
        if not next(given):
            asked.set()
            assert answer.wait(10)
        return [Key("a")]

    keys = IssuerKeys(slow, clock)
    keys.named("a")
    clock.now += ASKED_AFTER
    with ThreadPoolExecutor(1) as pool:
        stranger = pool.submit(keys.named, "made-up")
        assert asked.wait(10)
        assert keys.named("a").key_id == "a"
        answer.set()
        with pytest.raises(jwt.InvalidTokenError):
            stranger.result()


def test_of_many_who_need_the_keys_at_once_one_asks(clock):
    issuer, together = Issuer("a"), Barrier(8)
    keys = IssuerKeys(issuer, clock)

    def ask(_):
        together.wait()
        return keys.named("a").key_id

    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(ask, range(8))) == ["a"] * 8
    assert issuer.asked == 1
