"""Units of measure that parts and prices may be counted in.

Source: UN/ECE Recommendation 20, "Codes for Units of Measure Used in International Trade"; codes
and names as in the lists that the npm package un-ece-recommendation 0.1.1 carries. Only
what a railing is sold in is accepted. PK (pack) and BX (box) are deleted from Recommendation 20;
packaging codes belong to Recommendation 21. Here a pack is the ``pack_size`` of a part, and its
quantity stays in C62.
"""

from collections.abc import Mapping

HOUR = "HUR"

UNITS_OF_MEASURE: Mapping[str, str] = {
    "C62": "one",
    "CEN": "hundred",
    "CMT": "centimetre",
    "DZN": "dozen",
    "EA": "each",
    "FOT": "foot",
    "FTK": "square foot",
    "GLL": "gallon (US)",
    "GRM": "gram",
    "H87": "piece",
    HOUR: "hour",
    "INH": "inch",
    "INQ": "cubic inch",
    "KGM": "kilogram",
    "LBR": "pound",
    "LF": "linear foot",
    "LM": "linear metre",
    "LTR": "litre",
    "MIL": "thousand",
    "MIN": "minute [unit of time]",
    "MLT": "millilitre",
    "MMT": "millimetre",
    "MTK": "square metre",
    "MTR": "metre",
    "ONZ": "ounce (avoirdupois)",
    "OZA": "fluid ounce (US)",
    "PR": "pair",
    "SET": "set",
    "YRD": "yard",
}
