"""The sheet of a quote for the dealer's customer: what it comes to, what it is, what it says.

Only what a customer is to see is taken from the answer, by name: a member that is not asked for
here, such as a cost, is never printed.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from service.adapters.documents.money_text import figure, money_text, percent, zero
from service.adapters.documents.plan_figures import PlanFigure
from service.adapters.documents.quote_choices import choice_blocks
from service.adapters.documents.quote_layout_text import counted
from service.adapters.documents.sheet import (
    Blanks,
    Block,
    Column,
    Facts,
    Figure,
    Heading,
    Listing,
    Paragraph,
    Row,
    Sheet,
    Table,
    Tone,
    Weight,
)
from service.adapters.documents.sheet_words import (
    customer_text,
    footing,
    paper_of,
    running,
    unit_word,
)
from service.adapters.notes import notes_of
from service.usecases.letterhead import Letterhead

Json = Mapping[str, Any]

_GROUPS = {
    "post": "Posts", "rail": "Rails", "picket": "Pickets", "cable": "Cables", "panel": "Panels",
    "connector": "Connectors", "fastener": "Fasteners", "trim": "Trim", "gate": "Gates",
    "sealant": "Sealants", "handrail": "Handrails", "labour": "Labour", "charge": "Charges",
}  # fmt: skip
_SUMS = (("goods", "Goods"), ("labour", "Labour"), ("charges", "Charges"), ("net", "Net"))
_ACCEPTANCE = ("Name", "Signature", "Date")


def quote_sheet(
    quote: Json, head: Letterhead, plans: Sequence[PlanFigure], *, offered: bool = True
) -> Sheet:
    """Make the sheet of a quote.

    Args:
        quote: The quote as it was answered.
        head: The dealer's letterhead.
        plans: The plans of its layout; none where it could not be drawn again.
        offered: Whether there is room to sign it.
    """
    about = f" for {quote['reference']}" if quote["reference"] else ""
    return Sheet(
        title=f"Quote{about}",
        author=head.name,
        subject=f"Quote {quote['id']}",
        running=running(head, "Quote", quote),
        footing=footing(quote),
        paper=paper_of(quote),
        size=9.5,
        blocks=tuple(_blocks(quote, head, plans, offered)),
        letterhead=head,
        made_on=quote["created_on"],
    )


def _blocks(
    quote: Json, head: Letterhead, plans: Sequence[PlanFigure], offered: bool
) -> Iterator[Block]:
    yield Heading("Quote")
    yield Facts(tuple(_facts(quote)))
    yield Heading("Items", 2)
    yield _items(quote)
    yield from _about_amounts(quote)
    yield _totals(quote["totals"])
    yield from _payments(quote)
    yield from choice_blocks(quote["layout"])
    yield from _said(quote, head)
    yield from _plans(plans)
    if offered:
        yield from _acceptance(quote, head, drawn=bool(plans))


def _acceptance(quote: Json, head: Letterhead, *, drawn: bool) -> Iterator[Block]:
    yield Heading("Acceptance", 2)
    how = "written and drawn" if drawn else "written"
    yield Paragraph(
        f"Quote {quote['id']}, {money_text(quote['totals']['gross'])} in all, is accepted as "
        f"{how} above.",
        keep=True,
    )
    dealer = f"For {head.name}" if head.name else "For the dealer"
    yield Blanks((("For the customer", _ACCEPTANCE), (dealer, _ACCEPTANCE)))


def _facts(quote: Json) -> Iterator[tuple[str, str]]:
    if quote["reference"]:
        yield "Job", quote["reference"]
    told = customer_text(quote)
    if told:
        yield "Customer", told
    yield "Number", quote["id"]
    if quote.get("revision", 1) > 1:
        yield "Revision", f"{quote['revision']}, in place of {quote['revises']}"
    yield "Date", quote["created_on"]
    table = quote["price_table"]
    yield "Prices", f"{table['name']}, in {table['currency']}, as on {quote['on']}"
    yield "Valid until", quote.get("valid_until") or "no last day is stated"
    yield "System", quote["layout"]["system"]
    yield "Guard", counted(quote["layout"])


def _items(quote: Json) -> Table:
    currency = quote["totals"]["gross"]["currency"]
    columns = (
        Column("No.", right=True),
        Column("Description", 1.0),
        Column("Quantity", right=True),
        Column("Unit"),
        Column(f"Unit price {currency}", right=True),
        Column(f"Amount {currency}", right=True),
    )
    key = "gross" if _taxed(quote) else "net"
    return Table(columns, tuple(_rows(quote["lines"], key)), "Items with quantities and amounts")


def _taxed(quote: Json) -> bool:
    """Tell whether the prices are meant with tax; a quote older than such terms means without."""
    return bool((quote.get("terms") or {}).get("prices_include_tax"))


def _about_amounts(quote: Json) -> Iterator[Block]:
    """Say what the amounts hold and what they leave out."""
    said = []
    if _taxed(quote):
        said.append("Unit prices and amounts of items include tax; the sums below are without it.")
    discount = quote["totals"].get("discount")
    if discount and not zero(discount):
        said.append(f"Discounts of {money_text(discount)} are taken off already.")
    said += quote.get("conditions") or ()
    for sentence in said:
        yield Paragraph(sentence, keep=True)


def _rows(lines: Iterable[Json], key: str) -> Iterator[Row]:
    groups: dict[str, list[Json]] = {}
    for line in lines:
        groups.setdefault(line["category"] or line["kind"], []).append(line)
    for category, members in groups.items():
        title = _GROUPS.get(category, category.replace("_", " ").capitalize())
        yield Row((title,), Weight.GROUP)
        for line in members:
            yield Row(_cells(line, key))


def _cells(line: Json, key: str) -> tuple[str, ...]:
    length = f", {line['length']['text']}" if line["length"] else ""
    words = f"{line['description']}{length}{_discounted(line)}"
    return (
        str(line["number"]),
        f"{line['sku']}  {words}" if line["sku"] else words,
        figure(line["quantity"]),
        unit_word(line["unit_of_measure"]),
        figure(line["unit_price"]["amount"]),
        figure(line[key]["amount"]),
    )


def _discounted(line: Json) -> str:
    """Say what the amount was before discounts, and what each takes off."""
    offs = [f"{off['name']} {figure(off['amount']['amount'])}" for off in line.get("discounts", ())]
    return f"; {figure(line['amount']['amount'])} less {', less '.join(offs)}" if offs else ""


def _totals(totals: Json) -> Table:
    rows = [
        Row(("", name, money_text(totals[key])), keep=True)
        for key, name in _SUMS
        if key in totals and not (key in ("labour", "charges") and zero(totals[key]))
    ]
    rows += [
        Row(("", f"{tax['name']}, {percent(tax['rate'])}", money_text(tax["amount"])), keep=True)
        for tax in totals["taxes"]
    ]
    if len(totals["taxes"]) != 1:
        rows.append(Row(("", "Tax", money_text(totals["tax"])), keep=True))
    gross = totals["gross"]
    rows.append(Row(("", f"Total {gross['currency']}", money_text(gross)), Weight.STRONG))
    return Table((Column("", 1.0), Column(""), Column("", right=True)), tuple(rows), "Totals")


def _payments(quote: Json) -> Iterator[Block]:
    """Tell what is to be paid when, where the quote says so."""
    payments = quote.get("payments") or ()
    if not payments:
        return
    yield Heading("Payments", 2)
    rows = tuple(Row((payment["due"], money_text(payment["amount"]))) for payment in payments)
    yield Table((Column("Due", 1.0), Column("Amount", right=True)), rows, "Payments")


def _plans(plans: Sequence[PlanFigure]) -> Iterator[Block]:
    yield Heading("Plan", 2, fresh=bool(plans))
    if not plans:
        yield Paragraph(
            "This version of the service lays the deck out differently, so no plan is drawn; the "
            "items and amounts are those of the quote as it was made."
        )
    for plan in plans:
        if plan.name:
            yield Paragraph(
                f"{plan.name}, scale {plan.scale} if printed at full size", Tone.SMALL, keep=True
            )
        alt = f"Plan of {plan.name} with the numbers of posts and sections, scale {plan.scale}."
        yield Figure(plan.picture, alt, plan.magnified)


def _said(quote: Json, head: Letterhead) -> Iterator[Block]:
    exclusions = [text for text in quote.get("exclusions") or () if isinstance(text, str)]
    for title, sentences in (("Not included", exclusions), ("Notes", notes_of(quote))):
        if sentences:
            yield Heading(title, 2)
            yield Listing(tuple(sentences))
    yield Heading("Building code", 2)
    yield Paragraph(_screened(quote["compliance"]))
    yield Heading("Cautions", 2)
    yield Listing(tuple(quote["cautions"]))
    if head.footer:
        yield Paragraph(head.footer)


def _screened(compliance: Json) -> str:
    counts = ", ".join(f"{n} {key.replace('_', ' ')}" for key, n in compliance["outcomes"].items())
    codes = ", ".join(compliance["codes"])
    return (
        f"Screened against {codes}: {counts}. The code report gives each finding with its source."
    )
