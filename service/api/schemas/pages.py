"""What every list takes: how many on a page, and where the page before ended."""

from service.api.schemas.base import StrictSchema
from service.api.schemas.fields import Text

PAGE = 50
MOST = 100
# Of a name or SKU whose letters all take four bytes; common lists need a tenth of it.
LONGEST_CURSOR = 600
CURSOR = "^[A-Za-z0-9_-]+$"


class PageQuery(StrictSchema):
    """Query of a list, whose values are texts."""

    limit = Text(
        3, pattern="^(?:[1-9][0-9]?|100)$", advice=f"Write a whole number from 1 to {MOST}."
    )
    cursor = Text(LONGEST_CURSOR, pattern=CURSOR, advice="Send the cursor of the page before.")
