"""The body of POST /v1/cut-plans: kept quotes, demands as they are, and offcuts."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import fields, post_load

from service.api.schemas.base import Complaints, StrictSchema, absent
from service.api.schemas.fields import (
    Choice,
    DecimalText,
    JsonInt,
    LengthField,
    Rows,
    Text,
    YesNo,
    steepness,
)
from service.api.schemas.offcuts import MOST_OFFCUTS, OnHandSchema, names_of, offcuts_of
from service.api.schemas.parts import LONGEST_SKU
from service.domain.cutting.combine import JobDemand
from service.domain.cutting.demand import CutDemand, Piece, StockLength
from service.usecases.combine_cutting import ShopDayOrder
from service.usecases.orders import Units

MOST_QUOTES = 20
MOST_DEMANDS = 40
MOST_LENGTHS = 30
MOST_PIECES = 500
UUID = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"

Loaded = Mapping[str, Any]


class BoughtSchema(StrictSchema):
    """A length that can be bought."""

    sku = Text(LONGEST_SKU, required=True)
    length = LengthField(required=True)
    price = DecimalText(load_default=absent)
    first_picket = LengthField(kind="Length", load_default=absent)
    limit = JsonInt(0, 1_000_000, load_default=absent)


class PieceSchema(StrictSchema):
    """Pieces to cut; a raked one is measured long point to long point."""

    name = Text(80, required=True)
    section = Text(80)
    length = LengthField(required=True)
    quantity = JsonInt(1, 1000, load_default=1)
    saw = steepness(load_default=absent)
    first_picket = LengthField(kind="Length", load_default=absent)
    pickets = JsonInt(1, 1000, load_default=absent)


class DemandSchema(StrictSchema):
    """What one job needs of one material; with a pitch its stock is pre-punched."""

    job = Text(80, required=True)
    sku = Text(LONGEST_SKU, required=True)
    description = Text(200)
    kerf = LengthField(kind="Length", required=True)
    end_trim = LengthField(kind="Length", load_default=0)
    least_remnant = LengthField(load_default=absent)
    pitch = LengthField(load_default=absent)
    depth = LengthField(load_default=absent)
    symmetric = YesNo(load_default=False)
    stock = Rows(fields.Nested(BoughtSchema), 1, MOST_LENGTHS, required=True)
    pieces = Rows(fields.Nested(PieceSchema), 1, MOST_PIECES, required=True)


class CutPlanRequest(StrictSchema):
    """Body of POST /v1/cut-plans."""

    units = Choice(Units, load_default=Units.IMPERIAL.value)
    quotes = Rows(
        Text(36, pattern=UUID, advice="Send the id of a quote."), 0, MOST_QUOTES, load_default=list
    )
    demands = Rows(fields.Nested(DemandSchema), 0, MOST_DEMANDS, load_default=list)
    offcuts = Rows(fields.Nested(OnHandSchema), 0, MOST_OFFCUTS, load_default=list)
    use_offcuts = YesNo(load_default=False)

    @post_load
    def to_order(self, data: Loaded, **_: Any) -> Any:
        """Give the order of the use case."""
        complaints = Complaints()
        _check(data, complaints)
        complaints.refuse()
        return ShopDayOrder(
            Units(data["units"]),
            tuple(data["quotes"]),
            tuple(_demand(demand) for demand in data["demands"]),
            offcuts_of(data["offcuts"]),
            data["use_offcuts"],
        )


def _check(data: Loaded, complaints: Complaints) -> None:
    if not data["quotes"] and not data["demands"]:
        complaints.add(("quotes",), "Name a quote, or send a demand.")
    for index, quote in enumerate(data["quotes"]):
        if quote in data["quotes"][:index]:
            complaints.add(("quotes", index), "This quote is named twice.")
    complaints.add_repeated(("offcuts",), names_of(data["offcuts"]))
    bought = {stock["sku"] for demand in data["demands"] for stock in demand["stock"]}
    for index, name in enumerate(names_of(data["offcuts"])):
        if name in bought:
            complaints.add(("offcuts", index, "name"), "This is the SKU of a stock length.")
    seen: set[tuple[str, str]] = set()
    for index, demand in enumerate(data["demands"]):
        if (demand["job"], demand["sku"]) in seen:
            complaints.add(("demands", index, "sku"), "This job asks for it already.")
        seen.add((demand["job"], demand["sku"]))
        _check_demand(demand, ("demands", index), complaints)


def _check_demand(demand: Loaded, path: tuple[str | int, ...], complaints: Complaints) -> None:
    skus = [stock["sku"] for stock in demand["stock"]]
    complaints.add_repeated((*path, "stock"), skus, "sku")
    complaints.add_repeated((*path, "pieces"), [piece["name"] for piece in demand["pieces"]])
    for index, piece in enumerate(demand["pieces"]):
        at = (*path, "pieces", index)
        first, pickets, pitch = piece["first_picket"], piece["pickets"], demand["pitch"]
        if (first is None) != (pickets is None):
            complaints.add((*at, "pickets"), "Pickets and first_picket are sent together.")
        elif first is not None and pitch is None:
            complaints.add((*at, "first_picket"), "Only pre-punched stock, with a pitch, has it.")
        elif first is not None and first + (pickets - 1) * pitch > piece["length"]:
            complaints.add((*at, "pickets"), "So many pickets do not fit its length.")


def _demand(demand: Loaded) -> JobDemand:
    return JobDemand(
        demand["job"],
        demand["sku"],
        CutDemand(
            material=demand.get("description", demand["sku"]),
            pieces=tuple(one for piece in demand["pieces"] for one in _pieces(piece, demand)),
            stocks=tuple(
                StockLength(
                    stock["sku"],
                    stock["length"],
                    stock["price"],
                    stock["first_picket"],
                    stock["limit"],
                )
                for stock in demand["stock"]
            ),
            kerf_nm=demand["kerf"],
            end_trim_nm=demand["end_trim"],
            pitch_nm=demand["pitch"],
            least_remnant_nm=demand["least_remnant"] or 0,
            nest_depth_nm=(demand["depth"] or 0) if demand["symmetric"] else 0,
        ),
    )


def _pieces(piece: Loaded, demand: Loaded) -> Iterator[Piece]:
    first, pickets = piece["first_picket"], piece["pickets"] or 0
    last = None
    if first is not None:
        last = piece["length"] - first - (pickets - 1) * demand["pitch"]
    for number in range(1, piece["quantity"] + 1):
        name = piece["name"] if piece["quantity"] == 1 else f"{piece['name']} #{number}"
        section = piece.get("section", piece["name"])
        saw = piece["saw"] or 0.0
        yield Piece(name, section, piece["length"], saw, first, last, pickets)


CUT_PLAN_REQUEST = CutPlanRequest()
