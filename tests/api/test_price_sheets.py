"""Price tables in and out as sheets: what is kept, what is refused, and in which words."""

import io
import zipfile
from datetime import date
from uuid import uuid4

import openpyxl
import pytest

from service.api.quote_forms import CSV, XLSX
from service.usecases.callers import Scope
from tests.integration.databases import served
from tests.serving import client_of, key_for

HEAD = "sku,unit_price,unit_of_measure,cost,min_quantity,pack_size,tax_class,effective_from\r\n"
GOOD = HEAD + 'POST,12.40,C62,,,,,\r\n"CAP, round",3,C62,,10,5,trim,2026-03-01\r\n'


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    with served(tmp_path_factory.mktemp("sheets")) as app:
        yield app


@pytest.fixture(scope="module")
def office(shop):
    return client_of(shop, key_for(shop))


@pytest.fixture
def table(office):
    made = office.post("/v1/price-tables", json={"name": str(uuid4()), "currency": "USD"})
    assert made.status_code == 201, made.json
    return made.json["links"]["self"]


def put(client, table, content, kind=CSV, **headers):
    tag = client.get(table).headers["ETag"]
    content = content.encode() if isinstance(content, str) else content
    headers = {"If-Match": tag, **headers}
    return client.post(f"{table}/imports", data=content, content_type=kind, headers=headers)


def workbook(*lines):
    book = openpyxl.Workbook()
    for line in lines:
        book.active.append(line)
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def refused(client, table, content, kind=CSV):
    """Give the complaints about a sheet, of which nothing may be kept."""
    answer = put(client, table, content, kind)
    assert (answer.status_code, answer.json["type"]) == (422, "/problems/unreadable-prices")
    assert client.get(table).json["latest"] == 1
    for one in answer.json["errors"]:
        assert {"pointer", "row", "column", "detail", "advice"} == one.keys()
        assert one["advice"]
    return answer.json["errors"]


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["without a mark", "with a mark"])
def test_a_csv_becomes_a_version(office, table, mark):
    made = put(office, table, mark + GOOD.encode())
    assert made.status_code == 201, made.json
    assert made.json["version"] | {"created_at": ""} == {
        "version": 2,
        "created_at": "",
        "note": "",
        "currency": "USD",
        "active_from": None,
        "row_count": 2,
    }
    post, cap = office.get(made.json["links"]["rows"]).json["rows"]
    assert (post["sku"], post["unit_price"], post["min_quantity"]) == ("POST", "12.4", "0")
    assert (cap["sku"], cap["pack_size"], cap["effective_from"]) == ("CAP, round", 5, "2026-03-01")


def test_a_workbook_becomes_a_version(office, table):
    lines = (
        ["SKU", "Unit of measure", "Unit price", "Pack size", "Effective from"],
        ["POST", "C62", 12.4, None, date(2026, 3, 1)],
        [],
        [4711, "C62", "0.1", 5, date(2026, 3, 1)],
    )
    made = put(office, table, workbook(*lines), XLSX)
    assert made.status_code == 201, made.json
    post, number = office.get(made.json["links"]["rows"]).json["rows"]
    assert (post["unit_price"], post["effective_from"]) == ("12.4", "2026-03-01")
    assert (number["sku"], number["unit_price"], number["pack_size"]) == ("4711", "0.1", 5)


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_is_taken_out_and_put_back_makes_no_version(office, table, form):
    risky = GOOD + '"\'=1+1",1,C62,,,,@x,\r\n'
    made = put(office, table, risky)
    taken = office.get(made.json["links"][form])
    assert taken.status_code == 200
    assert f'filename="{table.rsplit("/", 1)[1]}-2.{form}"' in taken.headers["Content-Disposition"]
    back = put(office, table, taken.data, taken.mimetype)
    assert (back.status_code, back.json["latest"]) == (200, 2)


def test_every_wrong_cell_is_told_with_its_place(office, table):
    wrong = HEAD + 'POST,12.40,C62,,,,,\r\n,"12,40",each,$7,-1,two,,31.12.2026\r\n'
    told = [(one["row"], one["column"]) for one in refused(office, table, wrong)]
    columns = ["sku", "unit_price", "unit_of_measure", "cost", "min_quantity", "pack_size"]
    assert told == [(3, name) for name in [*columns, "effective_from"]]
    said = {one["column"]: one for one in refused(office, table, wrong)}
    assert said["sku"]["detail"] == "The cell is empty."
    assert "comma" in said["unit_price"]["detail"]
    assert "12.40" in said["unit_price"]["advice"]
    assert "year-month-day" in said["effective_from"]["advice"]


def test_all_that_is_wrong_is_told_at_once(office, table):
    """Nobody mends a sheet only to be told of the next mistake: rows, cells, what contradicts."""
    lines = [
        "A,1,C62,,,,,",
        "A,1,C62",  # cells are missing
        "B,x,ZZZ,,,,,",  # two wrong cells, the unit one that has its form
        "A,2,C62,,,,,",  # A has a price from that quantity on
        "C,,C62,,,,,",  # neither price nor cost
        "D,1,ZZZ,,,,,",
    ]
    told = [
        (one["row"], one["column"]) for one in refused(office, table, HEAD + "\r\n".join(lines))
    ]
    assert told == [
        (3, ""),
        (4, "unit_price"),
        (4, "unit_of_measure"),
        (5, "sku"),
        (6, "unit_price"),
        (7, "unit_of_measure"),
    ]


def test_a_workbook_is_told_all_at_once_too(office, table):
    names = ["sku", "unit_price", "unit_of_measure"]
    lines = (names, ["A", "=1+1", "C62"], ["B", "1,5", "C62"], ["C", 1, "ZZZ"])
    told = [(one["row"], one["column"]) for one in refused(office, table, workbook(*lines), XLSX)]
    assert told == [(2, "unit_price"), (3, "unit_price"), (4, "unit_of_measure")]


@pytest.mark.parametrize(
    ("content", "row", "words"),
    [
        ("", 0, "empty"),
        (HEAD, 0, "No row"),
        (GOOD.encode("utf-16"), 0, "UTF-16"),
        (GOOD.encode("utf-16-le"), 0, "UTF-16"),
        (GOOD.replace("POST", "PÖST").encode("latin-1"), 2, "UTF-8"),
        (GOOD.replace(",", ";"), 1, "semicolons"),
        (GOOD.replace(",", "\t"), 1, "tabs"),
        ("sku,price,unit_of_measure\r\nA,1,C62\r\n", 1, "'price'"),
        ("sku,unit_price\r\nA,1\r\n", 1, "missing"),
        ("sku,sku,unit_of_measure\r\nA,A,C62\r\n", 1, "twice"),
        ("sku,unit_price,unit_of_measure\r\nA,1,2,C62\r\n", 2, "4 cells"),
        ('sku,unit_price,unit_of_measure\r\nA,1,C62\r\n"B,1,C62\r\n', 3, "no CSV"),
        (HEAD + "A,1,C62,,,,,\r\nA,2,C62,,0,,,\r\n", 3, "taken"),
        (HEAD + "A,,C62,,,,,\r\n", 2, "sold for"),
        (HEAD + "A,1,ZZZ,,,,,\r\n", 2, "ZZZ"),
        (workbook(["sku"]), 0, "workbook"),
    ],
)
def test_a_sheet_that_is_no_table_is_refused_in_plain_words(office, table, content, row, words):
    (first, *_) = refused(office, table, content)
    assert first["row"] == row
    assert words in first["detail"]


def test_a_workbook_holds_values_and_no_formulas(office, table):
    head = ["sku", "unit_price", "unit_of_measure", "cost"]
    book = workbook(head, ["A", "=1+1", "C62", "#N/A"], ["B", True, "C62", None, "aside"])
    formula, failed, stray = refused(office, table, book, XLSX)
    assert (formula["row"], formula["column"]) == (2, "unit_price")
    assert "formula" in formula["detail"]
    assert (failed["column"], stray["row"]) == ("cost", 3)


def packed(parts):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return held.getvalue()


def with_entity():
    """A workbook whose sheet defines an entity of its own."""
    parts = {}
    with zipfile.ZipFile(io.BytesIO(workbook(["sku"], ["A"]))) as archive:
        for name in archive.namelist():
            parts[name] = archive.read(name)
    sheet = "xl/worksheets/sheet1.xml"
    parts[sheet] = b'<!DOCTYPE x [<!ENTITY y "z">]>' + parts[sheet].partition(b"?>")[2]
    return packed(parts)


@pytest.mark.parametrize(
    "content",
    [b"", b"PK\x03\x04", GOOD.encode(), packed({"a": b"b"}), with_entity()],
    ids=["nothing", "a torn one", "a CSV", "another archive", "entities"],
)
def test_what_is_no_workbook_is_refused(office, table, content):
    (said,) = refused(office, table, content, XLSX)
    assert "cannot be read as a workbook" in said["detail"]


def test_a_workbook_that_unpacks_to_a_huge_one_is_not_unpacked(office, table):
    bomb = packed({"xl/workbook.xml": b" " * 60_000_000})
    assert len(bomb) < 100_000
    (said,) = refused(office, table, bomb, XLSX)
    assert "too large" in said["detail"]


def test_a_table_has_an_end(office, table):
    many = "sku,unit_price,unit_of_measure\r\n" + "".join(f"P{n},1,C62\r\n" for n in range(20_000))
    assert refused(office, table, many + "X,1,C62\r\n")[0]["row"] == 20_002
    assert put(office, table, b" " * 5_000_001).status_code == 413
    made = put(office, table, many)
    assert (made.status_code, made.json["version"]["row_count"]) == (201, 20_000)


def test_hundreds_of_mistakes_are_counted_and_some_are_listed(office, table):
    answer = put(office, table, HEAD + "A,x,C62,,,,,\r\n" * 500)
    assert len(answer.json["errors"]) == 200
    assert "500 places of 500 rows; the first 200" in answer.json["detail"]


def test_a_sheet_comes_as_what_it_is_from_one_who_saw_the_newest_state(office, table):
    assert put(office, table, GOOD, "text/plain").status_code == 415
    assert put(office, table, GOOD, **{"Content-Encoding": "gzip"}).status_code == 415
    assert office.post(f"{table}/imports", data=GOOD, content_type=CSV).status_code == 428
    assert put(office, table, GOOD, **{"If-Match": '"7"'}).status_code == 412
    once = {"Idempotency-Key": table}
    tag = {"If-Match": office.get(table).headers["ETag"]}
    first, again = (put(office, table, GOOD, **tag, **once) for _ in range(2))
    assert (first.status_code, first.data) == (again.status_code, again.data)
    assert office.get(table).json["latest"] == 2


def test_sheets_hold_costs_for_those_who_may_see_them(shop, office, table):
    scopes = (Scope.CATALOGUE_READ, Scope.CATALOGUE_WRITE)
    clerk = client_of(shop, key_for(shop, scopes=scopes))
    costly = HEAD + "POST,12.40,C62,7.77,,,,\r\n"
    assert put(clerk, table, costly).status_code == 403
    made = put(office, table, costly)
    for form in ("csv", "xlsx"):
        address = made.json["links"][form]
        assert office.get(address).data != clerk.get(address).data
    assert "7.77" in office.get(made.json["links"]["csv"]).text
    plain = clerk.get(made.json["links"]["csv"])
    assert "cost" not in plain.text
    assert "7.77" not in plain.text
    book = openpyxl.load_workbook(io.BytesIO(clerk.get(made.json["links"]["xlsx"]).data))
    assert "Cost" not in [cell.value for cell in next(book.active.iter_rows())]
    assert put(clerk, table, plain.data).status_code == 403, "the costs would be gone"
