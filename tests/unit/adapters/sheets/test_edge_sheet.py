import pytest

from service.adapters.sheets.edge_sheet import COLUMNS, read_edges
from service.usecases.sheets import Place, UnreadableSheet

SHEET = '''Level,Kind,Length,Turn,Fall height,Unit,Name,Width,Offset,Risers,Unit run,Open sides
main,stair,20,90,4.1,ft,garden stair,4,12,7,10 in,both
main,open,"8' 6""",90,4.1,ft,,,,,,
main,wall,20,90,,ft,,,,,,
main,gate,8.5,90,3,ft,side gate,40 in,,,,
upper,open,3 m,-90,,,,,,,,
'''


def test_rows_become_levels_edges_and_stairs():
    deck = read_edges(SHEET).deck
    main, upper = deck["levels"]
    assert [edge["kind"] for edge in main["edges"]] == ["stair", "open", "wall", "gate"]
    assert main["outline"]["sides"][:2] == [
        {"length": {"value": "20", "unit": "ft"}, "turn": 90.0},
        {"length": "8' 6\"", "turn": 90.0},
    ]
    assert main["edges"][0] == {
        "kind": "stair", "stair": "garden stair", "offset": {"value": "12", "unit": "ft"},
        "fall_height": {"value": "4.1", "unit": "ft"},
    }  # fmt: skip
    assert main["edges"][3]["gate"] == {"name": "side gate", "width": "40 in"}
    assert deck["stairs"] == [{
        "name": "garden stair", "total_rise": {"value": "4.1", "unit": "ft"}, "risers": 7,
        "unit_run": "10 in", "width": {"value": "4", "unit": "ft"},
        "open_sides": ["left", "right"],
    }]  # fmt: skip
    assert upper["outline"]["sides"] == [{"length": "3 m", "turn": -90.0}]


def test_every_member_has_its_place():
    sheet = read_edges(SHEET)
    assert sheet.place_of(("deck", "levels", 0, "edges", 3, "gate", "width")) == Place(5, "width")
    assert sheet.place_of(("deck", "levels", 0, "outline", "sides", 1, "turn")) == Place(3, "turn")
    assert sheet.place_of(("deck", "stairs", 0, "total_rise")) == Place(2, "fall_height")
    assert sheet.place_of(("deck", "levels", 1, "edges", 0)) == Place(6)
    assert sheet.place_of(("deck", "levels", 1, "name")) == Place(6)
    assert sheet.place_of(("price_table",)) is None


def test_corners_may_be_given_in_place_of_sides():
    deck = read_edges("kind,x,y\r\nopen,0 ft,0 ft\r\nopen,5 ft,0 ft\r\nwall,0 ft,5 ft\r\n").deck
    (level,) = deck["levels"]
    assert level["name"] == "deck"
    assert level["outline"] == {
        "vertices": [{"x": "0 ft", "y": "0 ft"}, {"x": "5 ft", "y": "0 ft"},
                     {"x": "0 ft", "y": "5 ft"}]
    }  # fmt: skip


@pytest.mark.parametrize(
    ("sheet", "place", "words"),
    [
        ("kind,length,turn\r\n", Place(1), "headings and a row"),
        ("kind,length,turn,colour\r\nopen,1 m,90,red\r\n", Place(1, "colour"), "No such column"),
        ("kind,length\r\nopen,1 m\r\n", Place(1, "turn"), "needed"),
        ("kind,kind,x,y\r\nopen,open,1,2\r\n", Place(1, "kind"), "twice"),
        ("kind,x,y\r\nopen,1 m,2 m,3 m\r\n", Place(2), "4 cells under 3 headings"),
        ('kind,x,y\r\n"open,1 m,2 m\r\n', Place(1), "no CSV"),
    ],
)
def test_a_sheet_that_cannot_be_read_is_refused_at_a_place(sheet, place, words):
    with pytest.raises(UnreadableSheet) as refusal:
        read_edges(sheet)
    (complaint,) = refusal.value.complaints
    assert complaint[0] == place
    assert words in complaint[1]


def test_what_does_not_fit_goes_on_as_it_stands():
    sheet = "kind,length,turn,guard,risers,open_sides\r\nopen,long,round,maybe,1e9,none\r\n"
    (level,) = read_edges(sheet).deck["levels"]
    assert level["outline"]["sides"] == [{"length": "long", "turn": "round"}]
    assert level["edges"][0]["guard"] == "maybe"
    assert level["edges"][0]["risers"] == "1e9"  # the schema of an open edge has none
    assert level["edges"][0]["open_sides"] == []
    assert "open_sides" in COLUMNS
