"""The dealer's letterhead as it is answered."""

from service.api.answers.words import TEXT, many, record, text

LETTERHEADS = {
    "Letterhead": record(
        "What every printed document carries.",
        name=text("Name the dealer signs with."),
        address=many(TEXT, "Lines of the postal address."),
        contact=many(TEXT, "Lines such as telephone and e-mail."),
        registration=text("Number the dealer must print; empty for none."),
        footer=text("The dealer's own words at the end of a quote; empty for none."),
        logo=text("PNG in base64; empty for none."),
    )
}
