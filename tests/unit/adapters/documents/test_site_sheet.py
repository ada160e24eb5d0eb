"""What an installer reads on site: every length that is cut and every step, and no price."""

import pytest

from service.adapters.documents.pdf import pages_of
from service.adapters.documents.prints import site_of
from service.adapters.documents.site_checks import checks
from service.adapters.documents.strips import Art, Letters
from service.usecases.print_quote import Document
from tests.unit.adapters.documents.printing import (
    HEAD,
    QUOTES,
    answer,
    layout_of,
    printed,
    read,
    squeezed,
)

SMALLEST = 10.0  # letters that are read at arm's length [pt]


def expected(quote):
    """Give what must be found on the pages."""
    layout = quote["layout"]
    for post in layout["posts"]:
        yield post["name"]
        yield post["at"]["x"]["text"]
    for section in layout["sections"]:
        yield f"{section['name']}: {section['start']['post']} to {section['end']['post']}"
        yield f"clear {section['clear']['text']}"
        yield f"{section['length']['text']} c-c"
        for rail in section["rails"]:
            yield rail["name"] + rail["length"]["text"] + rail["from_start"]["text"]
            if rail["saw_deg"]:
                yield f"{rail['saw_deg']:.1f}°"
        pickets = section["pickets"]
        if pickets["count"]:
            yield f"{pickets['count']} pickets at {pickets['pitch']['text']}"
            start, end = (gap["text"] for gap in pickets["end_gaps"])
            posts = section["start"]["post"], section["end"]["post"]
            yield f"End gaps: {start} at {posts[0]}, {end} at {posts[1]}."
        for post in section["line_posts"]:
            yield f"Line post {post['post']} stands {post['from_start']['text']} from the centre"
        for height in (section["infill"] or {}).get("heights", ()):
            yield height["text"]
    for plan in quote["cut_plans"]:
        yield plan["material"]
        for number, bar in enumerate(plan["bars"], start=1):
            yield f"Bar {number}: {bar['sku']}, {bar['length']['text']}"
            yield f"left {bar['remnant']['text']}"
            for place, cut in enumerate(bar["cuts"], start=1):
                yield f"{place}{cut['piece']}{cut['from_start']['text']}{cut['length']['text']}"
                if cut["first_picket"] is not None:
                    yield f"picket {cut['first_picket']}"
    for step in layout["installation"]:
        yield f"{step['number']}.{step['text']}"
    for item in quote["takeoff"]["items"]:
        yield item["sku"]
        yield item["description"]
    yield from quote["cautions"]


@pytest.mark.parametrize("name", QUOTES)
def test_every_length_cut_and_step_is_on_the_sheets(name):
    quote = answer(name)
    text = read(printed(Document.SITE_SHEETS, quote, layout_of(name)))
    assert [part for part in expected(quote) if squeezed(part) not in text] == []


@pytest.mark.parametrize("name", QUOTES)
def test_no_amount_of_money_goes_to_site(name):
    quote = answer(name)
    text = read(printed(Document.SITE_SHEETS, quote, layout_of(name)))
    money = {line["unit_price"]["amount"] for line in quote["lines"]}
    money |= {line["net"]["amount"] for line in quote["lines"]}
    assert [one for one in money if len(one) > 5 and one in text] == []
    assert not any(sign in text for sign in "$€£¥₹")
    assert quote["totals"]["gross"]["currency"] not in text


@pytest.mark.parametrize("name", QUOTES)
def test_letters_are_large_enough_to_be_read_at_arms_length(name):
    quote = answer(name)
    sheet = site_of(quote, HEAD, layout_of(name))
    for page in pages_of(sheet):
        for strip, y in page:
            for ink in strip.inks:
                if isinstance(ink, Letters) and y + strip.height > 45.0:  # below the letterhead
                    assert ink.size >= SMALLEST or "Name Signature Date".count(ink.text), ink.text
                elif isinstance(ink, Art):
                    height = min(text.height for group in ink.groups for text in lettered(group))
                    assert height * ink.magnified * 72 / 25.4 >= SMALLEST


def lettered(group):
    """Give the shapes of a group that have letters."""
    return [shape for shape in group.shapes if getattr(shape, "height", 0.0)]


def test_unequal_end_gaps_are_told_each_at_its_post():
    quote = answer()
    section = quote["layout"]["sections"][0]
    section["pickets"]["end_gaps"] = [{"text": '1-1/4"'}, {"text": '3-3/8"'}]
    start, end = section["start"]["post"], section["end"]["post"]
    text = read(printed(Document.SITE_SHEETS, quote, layout_of()))
    assert squeezed(f'End gaps: 1-1/4" at {start}, 3-3/8" at {end}.') in text


def test_a_removed_picket_is_told_beside_its_line_post():
    quote = answer()
    removed = [s for s in quote["layout"]["sections"] if s["pickets"]["removed"]]
    text = read(printed(Document.SITE_SHEETS, quote, layout_of()))
    assert len(removed) > 0
    told = text.count(squeezed("the picket there is removed"))
    assert told == sum(len(section["pickets"]["removed"]) for section in removed)


def test_pilot_holes_are_those_of_the_screening_or_said_to_be_missing():
    quote = answer()
    quote["structure"] = None
    missing = squeezed("None are given with this quote: drill as")
    assert missing in read(printed(Document.SITE_SHEETS, quote, layout_of()))
    quote["structure"] = {
        "holes": {
            "clearance": {"text": "3/8 in"},
            "lead_least": {"text": "0.15 in"},
            "lead_most": {"text": "0.2 in"},
            "gravity_class": "0.5 and less",
        }
    }
    text = read(printed(Document.SITE_SHEETS, quote, layout_of()))
    assert missing not in text
    assert squeezed("Shank of lag screws: 3/8 in.") in text
    assert squeezed("Thread of lag screws: 0.15 in to 0.2 in") in text


def test_the_inspection_asks_for_what_stands_on_this_deck():
    heights = {"guard": "G", "stair": "ST", "gap": "B", "stair gap": "SB"}
    layout = answer()["layout"]
    said = "\n".join(checks(layout, heights))
    assert "Top of guard G above the walking surface: S1" in said
    assert "Top of stair guard ST plumb above the nosings: S8, S9" in said
    assert "No clear opening on stairs larger than laid out" in said
    assert "Gate" not in said
    layout["gates"] = [{"name": "lawn gate", "swing": "in"}]
    layout["sections"] = [s for s in layout["sections"] if not s["rake"]]
    layout["clear_openings"] = []
    said = "\n".join(checks(layout, heights))
    assert "Gate lawn gate swings in, clears the ground and latches." in said
    assert "stair" not in said
    assert "opening" not in said


@pytest.mark.parametrize(
    ("members", "said"),
    [
        ({"supports": []}, ["The framing was not described with this quote"]),
        (
            {
                "supports": [
                    {
                        "post": "P7",
                        "over": ["rim"],
                        "blocks": ["B1"],
                        "supported": False,
                        "notes": ["Pack out 12.7 mm."],
                        "fasteners": [
                            {
                                "number": 3,
                                "timber": "joist 4",
                                "edge": {"text": '5/8"'},
                                "end": None,
                                "holds": False,
                            }
                        ],
                    }
                ],
                "blocks": [
                    {
                        "name": "B1",
                        "level": "main",
                        "posts": ["P7"],
                        "between": ["rim", "joist 4"],
                        "length": {"text": "1' 2-1/2\""},
                        "thickness": {"text": '1-1/2"'},
                        "depth": {"text": '9-1/4"'},
                        "ends_deg": [0.0, 45.0],
                        "plies": 2,
                    }
                ],
            },
            [
                'P7 rim B1 NO Pack out 1/2" (12.7 mm).',
                'P7 3 joist 4 5/8" – NO',
                'B1 main P7 rim, joist 4 1\' 2-1/2" 1-1/2" × 9-1/4" 2 square / 45.0°',
                "Blocking in place and fixed: B1 (1 in all).",
            ],
        ),
    ],
)
def test_framing_is_told_where_it_was_described(members, said):
    quote = answer()
    quote["layout"] |= members
    text = read(printed(Document.SITE_SHEETS, quote, layout_of()))
    assert [part for part in said if squeezed(part) not in text] == []


def test_notes_tell_lengths_as_the_installer_tapes_them():
    told = "P7: fastener 1 is 9.5 mm from the edge of joist 4, 14.3 mm is the least."
    quote, metric = answer(), answer("metric-quote")
    for one in (quote, metric):
        one["layout"]["notes"] = [told]
    text = read(printed(Document.SITE_SHEETS, quote, layout_of()))
    assert squeezed('3/8" (9.5 mm) from the edge of joist 4, 9/16" (14.3 mm) is the least.') in text
    assert squeezed('3/8" (9.5 mm) from the edge') in read(printed(Document.QUOTE, quote, None))
    assert squeezed(told) in read(printed(Document.SITE_SHEETS, metric, layout_of("metric-quote")))
