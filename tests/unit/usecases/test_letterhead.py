"""What a dealer's logo may be."""

import struct

import pytest

from service.usecases.letterhead import Letterhead, png_size


def head(wide, high):
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + struct.pack(">II", wide, high)


def test_the_size_is_read_without_unfolding_the_picture():
    assert png_size(head(300, 80)) == (300, 80)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        pytest.param(b"GIF89a" + b"\x00" * 40, "no PNG", id="another format"),
        pytest.param(b"\x89PNG", "no PNG", id="cut short"),
        pytest.param(head(0, 80), "0 x 80", id="no width"),
        pytest.param(head(65_000, 65_000), "65000 x 65000", id="unfolds to gigabytes"),
        pytest.param(head(9, 9) + b"\x00" * 1_000_001, "bytes", id="too many bytes"),
    ],
)
def test_what_is_no_small_png_is_refused(content, why):
    with pytest.raises(ValueError, match=why):
        Letterhead("Larkmere", logo=content)
