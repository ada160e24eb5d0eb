"""Origins as browsers send them.

The serializations are those of RFC 6454, section 6.2, and of the URL Standard's example table of
origins, from memory.
"""

import pytest

from service.usecases.origins import origin_of


@pytest.mark.parametrize(
    ("written", "sent"),
    [
        ("https://shop.example", "https://shop.example"),
        ("HTTPS://Shop.Example", None),
        ("https://Shop.Example", "https://shop.example"),
        ("https://shop.example:443", "https://shop.example"),
        ("http://shop.example:80", "http://shop.example"),
        ("http://shop.example:443", "http://shop.example:443"),
        ("https://shop.example:8443", "https://shop.example:8443"),
        ("http://[::1]:8000", "http://[::1]:8000"),
        ("https://shop.example/", None),
        ("https://shop.example/form", None),
        ("https://shop.example?", None),
        ("shop.example", None),
        ("ftp://shop.example", None),
        ("https://ann@shop.example", None),
        ("https://a.example https://b.example", None),
        ("https://shop.example\n", None),
        ("*", None),
        ("null", None),
        ("", None),
    ],
)
def test_an_origin_is_written_as_browsers_do_or_refused(written, sent):
    if sent is None:
        with pytest.raises(ValueError, match="is no origin"):
            origin_of(written)
    else:
        assert origin_of(written) == sent
