"""Take-off is linear, complete and traced, for random decks and rules."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.cutting.demand import StockLength
from service.domain.layout.records import PostPosition
from service.domain.layout.system import JointKind
from service.domain.lengths import inches
from service.domain.takeoff.elements import elements_of
from service.domain.takeoff.kinds import KINDS, is_angle
from service.domain.takeoff.parts import Band
from service.domain.takeoff.take_off import take_off
from tests.unit.domain.takeoff.builders import (
    RAKE,
    layout,
    part,
    parts_list,
    post,
    rail,
    run,
    section,
    task,
)
from tests.unit.domain.takeoff.full_deck import full_deck

joints = st.sampled_from(JointKind)
lengths = st.integers(inches(10), inches(190))


@st.composite
def sections(draw, number):
    top, bottom = draw(lengths), draw(lengths)
    name = f"S{number}"
    return section(
        name,
        (f"P{number}", draw(joints), draw(st.sampled_from([0.0, 22.5, -45.0]))),
        (f"P{number + 1}", draw(joints)),
        [rail(f"{name} top", "top", 0, top), rail(f"{name} bottom", "bottom", 0, bottom)],
        pickets=draw(st.integers(0, 40)),
        legs=range(draw(st.integers(0, 3))),
        length=top,
        rake=draw(st.sampled_from([None, RAKE])),
    )


@st.composite
def layouts(draw):
    posts = [
        post(
            f"P{n}",
            draw(st.sampled_from(PostPosition)),
            surface=draw(st.sampled_from(["deck", "slab"])),
            height=draw(lengths),
        )
        for n in range(draw(st.integers(0, 8)))
    ]
    built = [draw(sections(n)) for n in range(draw(st.integers(0, 6)))]
    return layout(posts, built, [run(f"R{n}", s.length_nm) for n, s in enumerate(built)])


@st.composite
def rules(draw):
    """Part rules over every kind, with conditions that may or may not match."""
    listed = []
    for number in range(draw(st.integers(1, 12))):
        per = draw(st.sampled_from(sorted(KINDS)))
        kind = KINDS[per]
        closed = [name for name, values in kind.attributes.items() if values]
        where = {
            name: tuple(
                draw(st.sets(st.sampled_from(kind.attributes[name]), min_size=1).map(sorted))
            )
            for name in draw(st.sets(st.sampled_from(closed)) if closed else st.just(()))
        }
        listed.append(
            part(
                f"A-{number}",
                per,
                str(draw(st.decimals(0, 20, places=3))),
                where=where,
                pack_size=draw(st.integers(1, 100)),
                per_length=kind.has_length and draw(st.booleans()),
            )
        )
    return listed


def twice(laid_out):
    """The same deck built again beside itself, under other names."""

    def renamed(record):
        return replace(record, name=f"{record.name}'")

    def again(one):
        rails = tuple(map(renamed, one.rails))
        return replace(renamed(one), rails=rails)

    return replace(
        laid_out,
        posts=laid_out.posts + tuple(map(renamed, laid_out.posts)),
        sections=laid_out.sections + tuple(map(again, laid_out.sections)),
        runs=laid_out.runs + tuple(map(renamed, laid_out.runs)),
    )


def everything_twice(laid_out):
    """A deck with all that sections, posts and runs do not hold, built again beside itself."""

    def again(records):
        return (*records, *(replace(r, name=f"{r.name}'") for r in records))

    (level,) = laid_out.deck.levels
    first = level.edges[0]
    edges = (replace(first, openings=again(first.openings)), *level.edges[1:])
    return replace(
        twice(laid_out),
        deck=replace(laid_out.deck, levels=(replace(level, edges=edges),)),
        gates=again(laid_out.gates),
        cables=again(laid_out.cables),
        blocks=again(laid_out.blocks),
        handrails=again(laid_out.handrails),
    )


def needs(takeoff):
    return {item.sku: item.needed for item in takeoff.items}


@settings(max_examples=150, deadline=None)
@given(layouts(), rules())
def test_two_identical_decks_need_twice_as_much(laid_out, listed):
    per_deck = [rule for rule in listed if rule.per != "deck"]  # there is one deck in a job
    parts = parts_list(per_deck, [task(per="rail", minutes="3.7", per_length=True)])
    once, both = take_off(laid_out, parts), take_off(twice(laid_out), parts)
    assert needs(both) == {sku: 2 * needed for sku, needed in needs(once).items()}
    assert [i.minutes for i in both.labour] == [2 * i.minutes for i in once.labour]


def test_the_deck_that_has_everything_twice_needs_twice_as_much():
    """By every measure of every kind: counted, by length, along each perimeter, by area."""
    once, both = full_deck(), everything_twice(full_deck())
    listed = [part(f"{per}", per, "1.5") for per in KINDS if per != "deck"]
    for per, kind in KINDS.items():
        for measure in (m for m in kind.measures if not is_angle(m)):
            listed.append(part(f"{per} {measure}", per, per_length=True, along=measure))
        if kind.has_area:
            listed.append(part(f"{per} area", per, per_area=True))
    needed = needs(take_off(once, parts_list(listed)))
    assert needed.keys() >= set(KINDS) - {"deck", "picket", "stair"}  # the hand-built deck's own
    doubled = needs(take_off(both, parts_list(listed)))
    assert doubled == {sku: 2 * amount for sku, amount in needed.items()}


@settings(max_examples=150, deadline=None)
@given(layouts())
def test_every_connector_belongs_to_a_joint(laid_out):
    """Each rail end of each section, and nothing else, takes the connector of its joint."""
    listed = [
        part(joint.value, "joint", where={"joint": (joint.value,)}, category="connector")
        for joint in JointKind
    ]
    items = take_off(laid_out, parts_list(listed)).items
    ends = {
        (f"{s.name} {r.place} at {end.post}", end.joint.value)
        for s in laid_out.sections
        for r in s.rails
        for end in (s.start, s.end)
    }
    assert {(name, item.sku) for item in items for name in item.elements} == ends
    assert sum(item.needed for item in items) == len(ends)


@settings(max_examples=150, deadline=None)
@given(layouts(), st.sets(st.integers(0, 90_000), max_size=6))
def test_bands_that_meet_take_each_joint_once(laid_out, cuts):
    ends = [None, *sorted(cuts), None]
    listed = [
        part(f"B{n}", "joint", where={"angle_deg": Band(*band)})
        for n, band in enumerate(pairwise(ends))
    ]
    names = [n for item in take_off(laid_out, parts_list(listed)).items for n in item.elements]
    assert sorted(names) == sorted(e.name for e in elements_of(laid_out) if e.kind == "joint")


@settings(max_examples=150, deadline=None)
@given(
    layouts(),
    rules(),
    st.lists(st.decimals(0, 1, places=3), min_size=12, max_size=12),
    st.decimals(0, 50, places=1),
)
def test_an_order_holds_its_need_its_waste_and_the_least_that_is_sold(
    laid_out, listed, wastes, minimum
):
    wasting = [replace(r, waste=w, minimum=minimum) for r, w in zip(listed, wastes, strict=False)]
    plain = {item.sku: item for item in take_off(laid_out, parts_list(listed)).items}
    rule_of = {rule.sku: rule for rule in wasting}
    for item in take_off(laid_out, parts_list(wasting)).items:
        assert item.needed == plain[item.sku].needed
        assert Fraction(item.waste) == Fraction(item.needed) * Fraction(rule_of[item.sku].waste)
        least = max(Fraction(item.needed) + Fraction(item.waste), Fraction(minimum))
        assert item.ordered % item.pack_size == 0
        assert 0 <= Fraction(item.ordered) - least < item.pack_size


@settings(max_examples=150, deadline=None)
@given(layouts(), rules())
def test_packs_never_fall_short_and_never_exceed_by_a_pack(laid_out, listed):
    for item in take_off(laid_out, parts_list(listed)).items:
        assert item.ordered % item.pack_size == 0
        assert 0 <= Fraction(item.ordered) - Fraction(item.needed) < item.pack_size


@settings(max_examples=150, deadline=None)
@given(layouts(), rules())
def test_every_need_is_traced_and_counted_as_a_plain_loop_counts_it(laid_out, listed):
    items = {item.sku: item for item in take_off(laid_out, parts_list(listed)).items}
    for rule in listed:
        wanted = [
            e
            for e in elements_of(laid_out)
            if e.kind == rule.per and all(e.attributes[k] in v for k, v in rule.where.items())
        ]
        per_element = [
            Fraction(rule.quantity)
            * e.count
            * (Fraction(e.length_nm, 10**9) if rule.per_length else 1)
            for e in wanted
        ]
        item = items.get(rule.sku)
        if not sum(per_element):
            assert item is None
        else:
            assert Fraction(item.needed) == sum(per_element)
            assert item.elements == tuple(e.name for e in wanted)


@settings(max_examples=100, deadline=None)
@given(layouts())
def test_each_rail_is_cut_once_or_named_in_a_note(laid_out):
    stock = part(
        "TOP", "rail", category="rail", where={"place": ("top",)},
        stock=(StockLength("TOP-16", inches(192)),),
    )  # fmt: skip
    takeoff = take_off(laid_out, parts_list([stock]))
    pieces = [piece for demand in takeoff.demands for piece in demand.pieces]
    rails = [r for s in laid_out.sections for r in s.rails]
    assert [(p.name, p.length_nm) for p in pieces] == [
        (r.name, r.length_nm) for r in rails if r.place == "top"
    ]
    noted = sum(int(note.split()[5]) for note in takeoff.notes if " x rail (place bottom" in note)
    assert noted == sum(r.place == "bottom" for r in rails)


@settings(max_examples=50, deadline=None)
@given(layouts(), st.permutations(range(6)))
def test_the_order_of_rules_changes_the_order_of_lines_and_nothing_else(laid_out, order):
    listed = [part(f"A-{n}", per, "1.5") for n, per in enumerate(sorted(KINDS)[:6])]
    shuffled = [listed[n] for n in order]
    first = take_off(laid_out, parts_list(listed))
    second = take_off(laid_out, parts_list(shuffled))
    assert needs(first) == needs(second)
    assert [i.sku for i in second.items] == [r.sku for r in shuffled if r.sku in needs(first)]
    assert all(isinstance(i.needed, Decimal) for i in first.items)
