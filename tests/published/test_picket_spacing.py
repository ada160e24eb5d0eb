"""Picket spacing against worked examples.

Sources, by id of the value:
- BAL-72: a household how-to article on baluster spacing works 72 in with 1-1/2 in pickets by hand:
  13 pickets, 52.5 in clear in all; 52.5 / 14 = 3.75 in is that article's formula computed here.
- the other BAL rows: n = ceil((L - g) / (w + g)), gap = (L - n w) / (n + 1), derived and checked
  by a second method; "BAL-92" is the edge where 16 pickets leave exactly 4 in, which a 4 in sphere
  passes, so that 17 are needed.
- BAL-FIXED: end gap e = (L - w - (n - 1) p) / 2, largest e within the gap limit.
"""

import pytest

from service.domain.layout.pickets import fixed_pitch, free_pitch
from service.domain.lengths import inches


@pytest.mark.parametrize(
    ("clear", "width", "limit", "count", "gap_in"),
    [
        pytest.param(inches(72), inches(1, 1, 2), inches(4), 13, 3.75, id="BAL-72"),
        pytest.param(inches(52), inches(1, 1, 2), inches(4), 9, 3.85, id="BAL-52-1.5"),
        pytest.param(inches(120), inches(1, 1, 2), inches(4), 22, 3.7826, id="BAL-120-1.5"),
        pytest.param(
            inches(69, 1, 2), inches(0, 3, 4), inches(3, 15, 16), 14, 3.9333, id="BAL-69.5-0.75"
        ),
        pytest.param(inches(116), inches(0, 3, 4), inches(3, 7, 8), 25, 3.7404, id="BAL-116-0.75"),
        pytest.param(inches(92), inches(1, 1, 2), inches(4), 17, 3.6944, id="BAL-92-STRICT"),
    ],
)
def test_free_pitch(clear: int, width: int, limit: int, count: int, gap_in: float) -> None:
    row = free_pitch(clear, width, limit)
    assert len(row.centres_nm) == count
    assert row.end_gaps_nm[0] / inches(1) == pytest.approx(gap_in, abs=1e-4)


def test_total_clear_width_of_the_72_in_bay() -> None:
    row = free_pitch(inches(72), inches(1, 1, 2), inches(4))
    assert inches(72) - len(row.centres_nm) * inches(1, 1, 2) == inches(52, 1, 2)


def test_fixed_pitch_takes_the_best_balanced_ends() -> None:
    """BAL-FIXED: 15 pickets with ends of 2.875 in; 16 would leave 0.625 in."""
    row = fixed_pitch(inches(69, 1, 2), inches(0, 3, 4), inches(4, 1, 2))
    assert len(row.centres_nm) == 15
    assert row.end_gaps_nm == (inches(2, 7, 8), inches(2, 7, 8))
