"""The usual range of a figure, by median and median absolute deviation, which single odd values do not move.

Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers, ASQC Basic References in Quality Control 16: the
modified z-score of x is 0.6745 (x - median) / MAD, and a value is odd if that is above 3.5. Where MAD is nought,
because more than half of the values are the same, their mean absolute deviation from the median stands in, as is usual
since: (x - median) / (1.253314 MeanAD). Both factors make of a deviation an estimate of a normal one's
standard deviation.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

CUT_OFF = Fraction(35, 10)
#: In ten thousandths of a sigma, and in millionths of the mean absolute deviation.
_MAD_IN_SIGMAS, _SIGMAS_IN_MEAN = 6_745, 1_253_314

#: Fewer values than this say nothing of what is usual.
FEWEST = 5


class Range(NamedTuple):
    """From ``low`` to ``high``, both plausible; ``middle`` is the median."""

    low: int
    middle: int
    high: int


def median(values: Iterable[int]) -> Fraction:
    """The median of at least one value."""
    return Fraction(_twice_median(values), 2)


def deviation(values: Sequence[int]) -> Fraction:
    """The standard deviation that the scatter of at least one value around their median stands for."""
    return Fraction(*_deviation(values, _twice_median(values)))


def _deviation(values: Sequence[int], twice_median: int) -> tuple[int, int]:
    """The deviation as a numerator and a denominator."""
    distances = [abs(2 * value - twice_median) for value in values]
    if mad := _twice_median(distances):
        return mad * 10_000, 4 * _MAD_IN_SIGMAS
    return sum(distances) * _SIGMAS_IN_MEAN, 2 * len(distances) * 1_000_000


def _twice_median(values: Iterable[int]) -> int:
    """Twice the median, which is whole."""
    ordered = sorted(values)
    half = len(ordered) // 2
    return 2 * ordered[half] if len(ordered) % 2 else ordered[half - 1] + ordered[half]


def usual_range(values: Iterable[int], *, floor_percent: int, least: int = 0) -> Range | None:
    """The values with a modified z-score up to 3.5, whole numbers; None of fewer than ``FEWEST`` values.

    It reaches at least ``floor_percent`` of the median and ``least`` to either side, because whoever is very regular
    need not be asked about every small change.
    """
    known = sorted(values)
    if len(known) < FEWEST:
        return None
    twice = _twice_median(known)
    above, below = _deviation(known, twice)
    # Numerators and denominators, and of what each reaches the farthest: fractions would take as long as all the rest,
    # and an archive has a hundred thousand entries.
    reaches = (above * CUT_OFF.numerator, below * CUT_OFF.denominator), (abs(twice) * floor_percent, 200), (least, 1)
    low = min([(twice * below - 2 * above) // (2 * below) for above, below in reaches])
    high = max([-((-twice * below - 2 * above) // (2 * below)) for above, below in reaches])
    return Range(low, twice // 2, high)
