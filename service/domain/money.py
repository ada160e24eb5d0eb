"""Money as an exact decimal with its currency; rounding happens where a function says so.

Source: minor units by currency are those of ISO 4217; rounding half up to the minor unit is the
invoicing practice the European Commission describes for VAT ("arithmetic rounding").
"""

from decimal import ROUND_HALF_UP, Decimal

from service.domain.errors import CurrencyMismatch
from service.domain.record import record

# ISO 4217 active currencies that have a minor unit, by its decimals (list one of 2026-01-01, held
# in tests against the iso4217 package); metals, test codes and the like have none.
_MINOR_UNITS = {
    **dict.fromkeys(
        (
            "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BOV BRL BSD BTN BWP BYN "
            "BZD CAD CDF CHE CHF CHW CNY COP COU CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD "
            "FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW "
            "KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MXV MYR "
            "MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG "
            "SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD "
            "USN UYU UZS VED VES WST XAD XCD XCG YER ZAR ZMW ZWG"
        ).split(),
        2,
    ),
    **dict.fromkeys(
        "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF".split(), 0
    ),
    **dict.fromkeys("BHD IQD JOD KWD LYD OMR TND".split(), 3),
    **dict.fromkeys("CLF UYW".split(), 4),
}
CURRENCIES = frozenset(_MINOR_UNITS)
_CENT = Decimal("0.01")
_STEPS = {currency: Decimal(1).scaleb(-decimals) for currency, decimals in _MINOR_UNITS.items()}


def minor_unit(currency: str) -> Decimal:
    """Give the smallest amount of a currency, such as ``Decimal("0.01")`` for USD.

    A currency that is no longer active, as old quotes may bear, is taken to have two decimals.
    """
    return _STEPS.get(currency, _CENT)


@record(frozen=True, slots=True)
class Money:
    """An exact amount in one currency; sums of different currencies are refused."""

    amount: Decimal
    currency: str

    def __post_init__(self) -> None:
        """Refuse floats, which would carry binary rounding into a price."""
        if not isinstance(self.amount, Decimal):
            raise TypeError(f"an amount of money is a Decimal, not {type(self.amount).__name__}")

    def __add__(self, other: "Money") -> "Money":
        """Add two amounts of one currency.

        Raises:
            CurrencyMismatch: The currencies differ.
        """
        if other.currency != self.currency:
            raise CurrencyMismatch(
                f"{other.currency} cannot be added to {self.currency}",
                advice="Send prices, labour and tax in one currency.",
            )
        return Money(self.amount + other.amount, self.currency)

    def __mul__(self, factor: Decimal | int) -> "Money":
        """Multiply by an exact factor, without rounding."""
        return Money(self.amount * factor, self.currency)

    def rounded(self) -> "Money":
        """Round half up to the currency's minor unit."""
        step = minor_unit(self.currency)
        return Money(self.amount.quantize(step, rounding=ROUND_HALF_UP), self.currency)


def zero(currency: str) -> Money:
    """Give no money of a currency."""
    return Money(Decimal(0), currency)
