"""What the saw is asked for: pieces, the stock they may come from, kerf and trim."""

from decimal import Decimal

from service.domain.record import record


@record(frozen=True, slots=True)
class Piece:
    """One piece to cut.

    Attributes:
        name: Unique within the demand, such as "S3 top".
        element: Section it belongs to.
        length_nm: Blank length. [nm]
        saw_deg: Angle off square of its end cuts. [deg]
        first_picket_nm: From its start to its first picket; None on plain stock. [nm]
        last_picket_nm: From its last picket to its end; None on plain stock. [nm]
        pickets: How many punched places it holds.
    """

    name: str
    element: str
    length_nm: int
    saw_deg: float = 0.0
    first_picket_nm: int | None = None
    last_picket_nm: int | None = None
    pickets: int = 0


@record(frozen=True, slots=True)
class StockLength:
    """A length that can be bought.

    Attributes:
        sku: What is ordered.
        length_nm: As supplied, before trimming. [nm]
        price: Price of one, exact; None where no price is known (then length stands for price).
        first_picket_nm: From its start to its first punched place, on pre-punched stock; None
            means half a pitch. [nm]
        limit: How many can be had; None if as many as wanted.
        end_trim_nm: Cut away at each end of this stock; None as the demand says (an offcut with
            sawn ends needs none). [nm]
        offcut: True for a remnant on hand rather than a length to buy.
    """

    sku: str
    length_nm: int
    price: Decimal | None = None
    first_picket_nm: int | None = None
    limit: int | None = None
    end_trim_nm: int | None = None
    offcut: bool = False


@record(frozen=True, slots=True)
class CutDemand:
    """All pieces of one material.

    Attributes:
        material: Name of the material, such as "top rail".
        kerf_nm: Width the saw takes at each cut. [nm]
        end_trim_nm: Cut away at each factory end before use, the kerf of that cut included. [nm]
        pitch_nm: Picket pitch of pre-punched stock along the rail; None on plain stock. [nm]
        least_remnant_nm: Shortest remnant worth keeping; shorter ones are waste. With 0 none is
            named reusable. [nm]
        nest_depth_nm: Depth of the profile where it is symmetric, so that neighbours sawn at one
            angle may share their cut; 0 where they may not. [nm]
        split_at: How a piece too long for its stock is made shorter, for the refusal, with the
            piece's element put in for {}; "" where it cannot be.
    """

    material: str
    pieces: tuple[Piece, ...]
    stocks: tuple[StockLength, ...]
    kerf_nm: int
    end_trim_nm: int = 0
    pitch_nm: int | None = None
    least_remnant_nm: int = 0
    nest_depth_nm: int = 0
    split_at: str = "split section {} at a line post"
