"""Lines that many quotes at once are answered with."""

from service.api.answers.words import WHOLE, partial_record, record, ref, said, text

BULK_QUOTES = {
    "KeptQuote": record(
        "The least that says which quote was kept.",
        id={"type": "string", "format": "uuid"},
        reference=text("The caller's own words."),
        outside_reference=text("Its name in the caller's own books."),
        gross=said(ref("Money"), "What the customer pays."),
        links=ref("QuoteLinks"),
    ),
    "BulkQuoteLine": partial_record(
        "What came of one line: a quote, or why there is none.",
        ("quote", "kept", "problem", "retry_after"),
        line=said(WHOLE, "Number of the line that was sent, from 1, empty ones counted too."),
        status=said(WHOLE, "As POST /v1/quotes would answer this line alone: 201, or a refusal."),
        quote=said(ref("Quote"), "The whole quote, byte for byte as it can be read later."),
        kept=said(ref("KeptQuote"), "In its place where return=minimal is preferred."),
        problem=said(ref("Problem"), "Pointers lead into this line."),
        retry_after=said(WHOLE, "Seconds after which this line may be sent again."),
    ),
}
