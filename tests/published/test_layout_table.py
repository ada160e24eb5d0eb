"""The transcribed values of layout: untouched, sourced, and each either computed or set aside."""

import hashlib

from tests.published.layout_table import FAMILIES, ROWS, TABLE
from tests.published.test_rail_values import COMPUTED as OF_RAILS
from tests.published.test_survey_values import COMPUTED as OF_SURVEYS

RISERS = "risers are counted on the built stair and sent; no count is chosen from a trial riser"
VOLUME = "sealant is bought in millilitres; the value only turns an oz cartridge into them"
DENSITY = "weights of parts are the dealer's data; none is reckoned from a section and a density"
LABOUR = (
    "minutes for each task are the dealer's data and no rate of labour is built in; a crew of two "
    "is nothing the service knows"
)
NOT_COMPUTED = {
    "STAIR-N-107": RISERS,
    "SEAL-VOL": VOLUME,
    "AL-RHO": DENSITY,
    "TUBE-W-2x2": DENSITY,
    **{row["id"]: LABOUR for row in FAMILIES["labour"]},
}


def test_table_is_as_transcribed() -> None:
    digest = hashlib.sha256(TABLE.read_bytes()).hexdigest()
    assert digest == "1388ad484091b9078f322c3538448dfd278c99027b94173ec872127396494e9b"


def test_every_row_has_a_source_and_an_id_of_its_own() -> None:
    assert len(ROWS) == sum(len(rows) for rows in FAMILIES.values()) == 94
    assert all(row["source"] and row["basis"] for row in ROWS.values())


def test_every_row_is_computed_or_set_aside_for_a_reason() -> None:
    named = [*OF_RAILS, *OF_SURVEYS, *NOT_COMPUTED]
    assert sorted(named) == sorted(ROWS)
    assert all(NOT_COMPUTED.values())
