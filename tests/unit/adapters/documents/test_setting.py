"""How blocks are set: one rule under a heading of any length, columns as wide as they need."""

from service.adapters.documents.letters import fonts
from service.adapters.documents.setting import Setter
from service.adapters.documents.sheet import Column, Heading, Paper, Row, Sheet, Table
from service.adapters.documents.strips import Letters, Rule


def set_block(block):
    fonts()
    sheet = Sheet("", "", "", "", "", Paper.LETTER, 10.5, (block,))
    setter = Setter(sheet)
    return setter, list(setter.strips(sheet.blocks))


def inks_of(strips, kind):
    return [ink for strip in strips for ink in strip.inks if isinstance(ink, kind)]


def test_a_heading_of_two_lines_is_ruled_once_below_both():
    _, strips = set_block(Heading("Plan of the terrace at the back of the house, " * 2))
    assert len(inks_of(strips, Letters)) == 2
    assert [len(inks_of([strip], Rule)) for strip in strips] == [0, 1]


def posts(where):
    columns = (
        Column("Post"), Column("Kind", 1.0), Column("Where", 1.5), Column("Cut from", 1.2),
        Column("Height", right=True),
    )  # fmt: skip
    return Table(columns, (Row(("P1", "end", where, "level post", "3 ft")),), "Posts")


def test_a_column_of_few_words_leaves_its_room_to_one_of_many():
    where = "main terrace at the back of the house, edge 1"
    _, strips = set_block(posts(where))
    assert where in [ink.text for ink in inks_of(strips, Letters)]


def test_columns_that_have_room_share_it_as_they_ask_and_fill_the_page():
    setter, strips = set_block(posts("edge 1"))
    lefts = {ink.text: ink.x for ink in inks_of(strips, Letters)}
    kind, where, cut = (lefts[name] for name in ("Kind", "Where", "Cut from"))
    assert abs((where - kind - 3.0) * 1.5 - (cut - where - 3.0)) < 0.01
    assert max(rule.end[0] for rule in inks_of(strips, Rule)) == setter.room
