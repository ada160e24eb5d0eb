"""The life of quotes and their revisions in real databases, against a plain model of it."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from threading import Barrier, Thread

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from service.adapters.storage import migrate
from service.adapters.storage.engine import connect
from service.adapters.storage.quote_lives import SqlQuoteLives
from service.adapters.storage.repositories import SqlQuotes
from service.adapters.storage.shelf import SqlShelf
from service.domain.errors import OffcutTaken, QuoteClosed, StaleState
from service.domain.money import Money
from service.domain.pricing.life import (
    QuoteLife,
    State,
    accept,
    decline,
    issue,
    refuse_revision,
    saw_bars,
    state_on,
)
from service.usecases.orders import Customer
from service.usecases.ports import StoredOffcut, StoredQuote, Wanted
from tests.integration.databases import BOTH, url_of
from tests.serving import books_of

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
OFFCUTS = ("offcut-1", "offcut-2")


def quote(life, *offcuts, at=AT, **more):
    return StoredQuote(
        id=life.quote_id,
        created_at=at,
        reference=more.pop("reference", "Larch Lane"),
        service_version="0.1.0",
        price_table="spring",
        codes=("IRC 2021",),
        total=Money(Decimal("1234.50"), "USD"),
        request=b"{}",
        answer=b"{}",
        life=life,
        offcuts=offcuts,
        **more,
    )


@pytest.fixture(params=BOTH)
def books(request, tmp_path):
    with url_of(request.param, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        yield books_of(engine)
        engine.dispose()


def first(quotes, name="q1", decided=State.ISSUED, **more):
    life = QuoteLife(name, decided=decided, series=name, **more)
    quotes.add(quote(life))
    return life


def revised(quotes, life, name, decided=State.ISSUED):
    following = QuoteLife(name, decided=decided, series=life.series, revision=life.revision + 1)
    quotes.add(quote(following))
    return following


def states(lives, *names):
    return [lives.life(name).decided.value for name in names]


def test_an_issued_revision_takes_the_place_of_the_earlier(books):
    quotes, lives = SqlQuotes(books), SqlQuoteLives(books)
    revised(quotes, first(quotes), "q2")
    assert states(lives, "q1", "q2") == ["replaced", "issued"]
    assert lives.life("q1").replaced_by == "q2"
    with pytest.raises(QuoteClosed, match="replaced by q2; it cannot be accepted"):
        lives.change("q1", lambda life: accept(life, AT.date()), AT)


def test_a_draft_waits_until_it_is_issued(books):
    quotes, lives = SqlQuotes(books), SqlQuoteLives(books)
    revised(quotes, first(quotes), "q2", State.DRAFT)
    assert states(lives, "q1", "q2") == ["issued", "draft"]
    lives.change("q2", lambda life: issue(life, AT.date()), AT)
    assert states(lives, "q1", "q2") == ["replaced", "issued"]


def test_an_accepted_quote_stands_until_its_revision_is_accepted(books):
    quotes, lives, shelf = SqlQuotes(books), SqlQuoteLives(books), SqlShelf(books)
    shelf.add(StoredOffcut("offcut-1", "LK-TR", 1, None, Decimal(0), ""), AT)
    quotes.add(quote(QuoteLife("q1", series="q1"), "offcut-1"))
    lives.change("q1", lambda life: accept(life, AT.date()), AT)
    quotes.add(quote(QuoteLife("q2", series="q1", revision=2), "offcut-1"))
    assert states(lives, "q1", "q2") == ["accepted", "issued"]
    lives.change("q2", lambda life: accept(life, AT.date()), AT)
    assert states(lives, "q1", "q2") == ["replaced", "accepted"]
    assert shelf.offcut("offcut-1", AT.date()).held_by == "q2"


def test_a_sawn_quote_keeps_its_place(books):
    quotes, lives = SqlQuotes(books), SqlQuoteLives(books)
    life = first(quotes)
    revised(quotes, life, "q2", State.DRAFT)
    lives.change("q1", lambda one: accept(one, AT.date()), AT)
    lives.change("q1", lambda one: saw_bars(one, AT.date(), keep_remnants=False), AT)
    lives.change("q2", lambda one: issue(one, AT.date()), AT)
    with pytest.raises(QuoteClosed, match="bars of an earlier revision are sawn"):
        lives.change("q2", lambda one: accept(one, AT.date()), AT)
    assert states(lives, "q1", "q2") == ["accepted", "issued"]
    with pytest.raises(QuoteClosed, match="can no longer be revised"):
        refuse_revision(lives.life("q1"))


def test_of_two_that_revise_at_once_one_goes_through(books):
    quotes, lives = SqlQuotes(books), SqlQuoteLives(books)
    life = first(quotes)
    together, lost = Barrier(2), []

    def attempt(name):
        together.wait(timeout=30)
        try:
            revised(quotes, life, name)
        except StaleState:
            lost.append(name)

    threads = [Thread(target=attempt, args=(name,)) for name in ("q2", "q3")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    (loser,) = lost
    (winner,) = {"q2", "q3"} - {loser}
    assert lives.life("q1").replaced_by == winner
    kept = quotes.page(Wanted(AT.date(), series="q1"), None, 10)
    assert {one.life.quote_id for one in kept} == {"q1", winner}


def test_quotes_are_found_by_what_they_are_about(books):
    quotes = SqlQuotes(books)
    for number in range(7):
        life = QuoteLife(f"q{number}", series=f"q{number}")
        made = AT + timedelta(days=number // 2)
        customer = Customer(name="Ann Larch", company="100% Decks" if number == 3 else "")
        more = {"customer": customer, "outside_reference": f"CRM-{number}"}
        quotes.add(quote(life, at=made, reference=f"Job {number % 2}", **more))

    def found(**wanted):
        return [o.life.quote_id for o in quotes.page(Wanted(AT.date(), **wanted), None, 50)]

    assert found() == ["q6", "q5", "q4", "q3", "q2", "q1", "q0"]
    assert found(reference="Job 1") == ["q5", "q3", "q1"]
    assert found(outside_reference="CRM-4") == ["q4"]
    assert found(within="job 0") == ["q6", "q4", "q2", "q0"]
    assert found(within="0%") == ["q3"]
    assert found(within="_") == []
    assert found(made_from=AT.date() + timedelta(days=2)) == ["q6", "q5", "q4"]
    assert found(made_to=AT.date()) == ["q1", "q0"]
    assert found(states=frozenset({State.DRAFT})) == []


def test_pages_of_quotes_meet_without_gap_or_overlap(books):
    quotes = SqlQuotes(books)
    for number in range(23):
        life = QuoteLife(f"q{number:02d}", series=f"q{number:02d}")
        quotes.add(quote(life, at=AT + timedelta(seconds=number // 3)))
    seen, after = [], None
    while page := quotes.page(Wanted(AT.date()), after, 5):
        seen += [one.life.quote_id for one in page]
        after = (page[-1].created_at, page[-1].life.quote_id)
    assert seen == [f"q{number:02d}" for number in reversed(range(23))]


class Series(RuleBasedStateMachine):
    """Steps at random, in the database and in a model that is one dictionary of lives."""

    url: str

    @initialize()
    def begin(self):
        self.engine = connect(self.url)
        self.books = books_of(self.engine, f"dealer {id(self)}")
        self.quotes, self.lives = SqlQuotes(self.books), SqlQuoteLives(self.books)
        self.shelf = SqlShelf(self.books)
        for name in OFFCUTS:
            self.shelf.add(StoredOffcut(name, "LK-TR", 1, None, Decimal(0), ""), AT)
        self.day = AT.date()
        self.model = {}
        self.uses = {}
        self.claims = {}

    def at(self):
        return datetime.combine(self.day, AT.timetz())

    def keep(self, life, uses):
        self.quotes.add(quote(life, *uses, at=self.at()))
        self.model[life.quote_id], self.uses[life.quote_id] = life, uses
        self.overtake(life)

    def overtake(self, later):
        for name, life in list(self.model.items()):
            if life.series != later.series or life.revision >= later.revision:
                continue
            if later.decided is State.DRAFT or life.decided in (State.DECLINED, State.REPLACED):
                continue
            if life.decided is State.ACCEPTED and later.decided is not State.ACCEPTED:
                continue
            if later.decided in (State.ISSUED, State.ACCEPTED):
                changed = replace(life, decided=State.REPLACED, replaced_by=later.quote_id)
                self.model[name] = replace(changed, version=life.version + 1)
                self.release(name)

    def release(self, name):
        self.claims = {o: holder for o, holder in self.claims.items() if holder != name}

    @rule(
        draft=st.booleans(),
        uses=st.sets(st.sampled_from(OFFCUTS)),
        days=st.none() | st.integers(0, 3),
    )
    def make(self, draft, uses, days):
        name = f"q{len(self.model)}"
        until = None if days is None else self.day + timedelta(days=days)
        decided = State.DRAFT if draft else State.ISSUED
        life = QuoteLife(name, decided=decided, valid_until=until, series=name)
        self.keep(life, tuple(sorted(uses)))

    @precondition(lambda self: self.model)
    @rule(pick=st.integers(0, 99), draft=st.booleans())
    def revise(self, pick, draft):
        earlier = self.model[f"q{pick % len(self.model)}"]
        latest = max(life.revision for life in self.model.values() if life.series == earlier.series)
        if earlier.replaced_by or earlier.sawn or latest > earlier.revision:
            return
        refuse_revision(earlier)
        name = f"q{len(self.model)}"
        decided = State.DRAFT if draft else State.ISSUED
        number = earlier.revision + 1
        life = QuoteLife(name, decided=decided, series=earlier.series, revision=number)
        self.keep(life, self.uses[earlier.quote_id])

    @precondition(lambda self: self.model)
    @rule(pick=st.integers(0, 99), step=st.sampled_from(["issue", "accept", "decline", "cut"]))
    def decide(self, pick, step):
        name = f"q{pick % len(self.model)}"
        life = self.model[name]
        allowed = self.allowed(life, step)
        taken = step == "accept" and any(
            self.holder(offcut) not in (None, name) and not self.yields(offcut, life)
            for offcut in self.uses[name]
        )
        function = {
            "issue": issue,
            "accept": accept,
            "decline": decline,
            "cut": lambda one, day: saw_bars(one, day, keep_remnants=False),
        }[step]
        try:
            after = self.lives.change(name, lambda one: function(one, self.day), self.at())
        except QuoteClosed:
            assert not allowed
        except OffcutTaken:
            assert allowed
            assert taken
        else:
            assert allowed
            assert not taken
            if after != life:
                self.model[name] = after
                self.overtake(after)
                self.follow(name, step)

    def allowed(self, life, step):
        state = state_on(life, self.day)
        fitting = {
            "issue": (State.DRAFT, State.ISSUED),
            "accept": (State.ISSUED, State.ACCEPTED),
            "decline": (State.DRAFT, State.ISSUED, State.ACCEPTED, State.DECLINED),
            "cut": (State.ACCEPTED,),
        }[step]
        sawn_before = any(
            other.sawn and other.series == life.series and other.revision < life.revision
            for other in self.model.values()
        )
        if step == "accept" and life.decided is not State.ACCEPTED and sawn_before:
            return False
        return state in fitting and not (step == "decline" and life.sawn)

    def holder(self, offcut):
        """Who holds an offcut today; a claim that has run out holds nothing."""
        name = self.claims.get(offcut)
        if name is None:
            return None
        life = self.model[name]
        over = not life.sawn and life.valid_until is not None and life.valid_until < self.day
        return None if over else name

    def yields(self, offcut, life):
        """An earlier quote of the series gives its offcuts to the one that takes its place."""
        holder = self.model[self.claims[offcut]]
        return holder.series == life.series and holder.revision < life.revision

    def follow(self, name, step):
        if step == "accept":
            for offcut in self.uses[name]:
                self.claims[offcut] = name
        elif step == "decline":
            self.release(name)

    @rule(days=st.integers(1, 2))
    def wait(self, days):
        self.day += timedelta(days=days)

    @invariant()
    def the_database_says_what_the_model_says(self):
        if not getattr(self, "model", None):
            return
        kept = {o.life.quote_id: o.life for o in self.quotes.page(Wanted(self.day), None, 999)}
        assert kept == self.model
        for state in State:
            wanted = Wanted(self.day, states=frozenset({state}))
            found = {o.life.quote_id for o in self.quotes.page(wanted, None, 999)}
            assert found == {n for n, one in kept.items() if state_on(one, self.day) is state}
        for offcut in OFFCUTS:
            held = self.shelf.offcut(offcut, self.day).held_by or None
            assert held == self.holder(offcut)

    @invariant()
    def of_a_series_one_at_most_is_issued_or_accepted_last(self):
        for series in {life.series for life in getattr(self, "model", {}).values()}:
            issued = [
                life
                for life in self.model.values()
                if life.series == series and life.decided is State.ISSUED
            ]
            assert len(issued) <= 1

    def teardown(self):
        if hasattr(self, "engine"):
            self.engine.dispose()


@pytest.mark.parametrize("kind", BOTH)
def test_steps_at_random_agree_with_the_model(kind, tmp_path):
    with url_of(kind, tmp_path) as url:
        engine = connect(url)
        migrate.upgrade(engine)
        engine.dispose()
        machine = type("Machine", (Series,), {"url": url})
        from hypothesis.stateful import run_state_machine_as_test

        run_state_machine_as_test(
            machine,
            settings=settings(
                max_examples=25,
                stateful_step_count=25,
                deadline=None,
                derandomize=True,
                suppress_health_check=list(HealthCheck),
            ),
        )


def test_the_day_a_quote_ends_is_still_its_own(books):
    quotes = SqlQuotes(books)
    last = date(2026, 12, 24)
    first(quotes, valid_until=last)
    issued = Wanted(last, states=frozenset({State.ISSUED}))
    assert len(quotes.page(issued, None, 9)) == 1
    expired = Wanted(last + timedelta(days=1), states=frozenset({State.EXPIRED}))
    assert len(quotes.page(expired, None, 9)) == 1
