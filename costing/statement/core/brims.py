"""Economy brim by brim, with its running mean, and the band in which a car's brims usually lie."""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from fractions import Fraction
from typing import NamedTuple

from costing.core.economy import LITRES_PER_GALLON, Economy, Stretch
from costing.core.money import divide_half_up
from costing.core.records import Period, Unit
from fleet.core.plausible.scatter import FEWEST, deviation, median

#: So many stretches are pooled for the running mean, the last of them the brim's own.
POOLED = 5
#: The band reaches so many standard deviations to either side, of as many brims at most: of a normal scatter nineteen
#: in twenty lie in it. The median and the median absolute deviation, which single odd brims do not move, stand for the
#: mean and the standard deviation (`scatter`).
_REACH, _MOST_BEFORE = 2, 24
#: What is older than this at the end of the days tells nothing of what is usual.
USUAL_WITHIN = timedelta(days=366)


class Brim(NamedTuple):
    """One stretch that ended with a brim, and the mean of as many as were ``pooled``, itself the last of them."""

    stretch: Stretch
    own: Economy
    mean: Economy
    pooled: int

    @property
    def put_in(self) -> Fraction:
        """The litres or kWh of the stretch."""
        return Fraction(self.stretch.thousandths, 1000)


class Brims(NamedTuple):
    """The brims of a span, oldest first, at least one; ``usual`` is from where to where those ``before`` usually lay.

    ``before`` counts the brims that came before those of the last mean. ``usual`` is in hundredths, as `hundredths`
    gives them; None if too few came before.
    """

    unit: Unit
    brims: tuple[Brim, ...]
    before: int
    usual: tuple[int, int] | None


def hundredths(found: Economy) -> int:
    """Miles a gallon, or miles a kWh, in whole hundredths. Raises ZeroDivisionError if nothing was put in."""
    units = Fraction(LITRES_PER_GALLON) if found.unit == "litre" else Fraction(1)
    return divide_half_up(found.miles * 1000 * 100 * units, found.thousandths)


def brims_of(found: Iterable[Stretch], unit: Unit, span: Period) -> Brims | None:
    """Return the brims of ``span``, with the band in which those before the last mean lay; None without a brim in it.

    ``found`` are a car's stretches of a unit, in order; one without miles or without fuel tells nothing. The band goes
    by the last day of the span, so that a month and a year that end together say the same of the same mean.
    """
    told = [one for one in found if one.miles > 0 and one.thousandths > 0]
    brims = [
        Brim(one, _pooled([one], unit), _pooled(told[max(0, end - POOLED) : end], unit), min(end, POOLED))
        for end, one in enumerate(told, start=1)
        if span.first <= one.ends_on <= span.last
    ]
    if not brims:
        return None
    since = span.last - USUAL_WITHIN
    lately = [one for one in told if since <= one.ends_on <= span.last][:-POOLED]
    before = [hundredths(_pooled([one], unit)) for one in lately[-_MOST_BEFORE:]]
    return Brims(unit, tuple(brims), len(before), _usual(before))


def _pooled(stretches: Sequence[Stretch], unit: Unit) -> Economy:
    """Miles and fuel added up before dividing: a mean of the figures would be wrong."""
    return Economy(unit, sum(one.miles for one in stretches), sum(one.thousandths for one in stretches))


def _usual(before: Sequence[int]) -> tuple[int, int] | None:
    if len(before) < FEWEST:
        return None
    middle, reach = median(before), _REACH * deviation(before)
    return divide_half_up(max(Fraction(0), middle - reach), 1), divide_half_up(middle + reach, 1)
