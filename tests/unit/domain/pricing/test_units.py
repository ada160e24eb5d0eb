from service.domain.pricing.units import HOUR, UNITS_OF_MEASURE


def test_hours_of_labour_are_a_unit():
    assert UNITS_OF_MEASURE[HOUR] == "hour"


def test_packaging_codes_are_no_units():
    # UN/ECE Recommendation 20 marks PK and BX as deleted; packages are Recommendation 21.
    assert UNITS_OF_MEASURE.keys().isdisjoint({"PK", "BX", "CT", "BG", "RO", "TU"})


def test_codes_are_two_or_three_capitals_or_digits():
    # Recommendation 20: "an..3", capitals and digits.
    assert all(code.isalnum() and code.isupper() for code in UNITS_OF_MEASURE)
    assert all(2 <= len(code) <= 3 for code in UNITS_OF_MEASURE)
