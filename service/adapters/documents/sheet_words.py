"""What all printed documents of a quote say alike: head, foot, paper, units of measure."""

from collections.abc import Mapping
from typing import Any

from service.adapters.documents.letters import REPLACEMENT, printable
from service.adapters.documents.sheet import Paper
from service.usecases.letterhead import Letterhead

Json = Mapping[str, Any]

# UN/ECE Recommendation 20 codes in words (from memory); others are printed as they are.
_UNITS = {
    "C62": "each", "MTR": "m", "HUR": "h", "FOT": "ft", "INH": "in", "PR": "pair", "MTK": "m²",
    "FTK": "ft²", "KGM": "kg", "LBR": "lb", "LTR": "l", "MLT": "ml", "MMT": "mm", "SET": "set",
}  # fmt: skip


def unit_word(code: str) -> str:
    """Give a unit of measure as people write it."""
    return _UNITS.get(code, code)


def paper_of(quote: Json) -> Paper:
    """Give the paper people print on who measure in these units."""
    return Paper.LETTER if quote["units"] == "imperial" else Paper.A4


def customer_text(quote: Json) -> str:
    """Say whom a quote is for and how to reach them, "" where nothing was said."""
    customer = quote.get("customer") or {}
    told = [customer.get("name"), customer.get("company"), *(customer.get("address") or ())]
    return ", ".join(filter(None, (*told, customer.get("phone"), customer.get("email"))))


def running(head: Letterhead, kind: str, quote: Json) -> str:
    """Say at the head of a page whose document it is and of what."""
    return "  ·  ".join(filter(None, (head.name, kind, quote["reference"])))


def footing(quote: Json) -> str:
    """Name the quote, its prices and its codes at the foot of a page."""
    table, codes = quote["price_table"], ", ".join(quote["compliance"]["codes"])
    return f"Quote {quote['id']}  ·  {table['name']}, as on {quote['on']}  ·  {codes}"


def replaced(*texts: str) -> str:
    """Say what stands for letters that the fonts do not hold, "" where they hold all of them."""
    letters = {letter for text in texts for letter in set(text) if not letter.isascii()}
    if not any(printable(letter) == REPLACEMENT != letter for letter in sorted(letters)):
        return ""
    return (
        f"{REPLACEMENT} stands for a letter that the fonts of this document do not hold; the "
        "quote itself has it."
    )
