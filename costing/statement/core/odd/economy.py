"""Whether a car goes less far on its fuel or charge than before, beyond its own scatter and beyond the season.

The last five stretches from brim to brim are held against earlier ones by the exact rank-sum test (`rank_sum`). A fall
counts if chance would hardly make it, and if it is also large enough to matter. A tank resembles its neighbours, in
weather and traffic: so the five between count on neither side, and chance must be very small. Economy is lower in
winter. How much so differs from car to car, between not at all and the swing below. So a fall must show both ways: in
the figures as they are, and with the whole swing taken out of them. Otherwise it may be the season.

Measured over made-up cars with a season, outliers and tanks that resemble their neighbours: see
`tests/core/costing/statement/test_odd_economy.py`, which holds how often it is wrong and how soon it is right.
"""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.economy import Economy, Stretch
from costing.core.records import Unit
from costing.statement.core.odd.rank_sum import chance_of, pairs_below
from fleet.core.plausible.scatter import median

#: So many stretches are held against earlier ones, so many apart from them, of which there are from few to many.
LAST, APART, FEWEST_BEFORE, MOST_BEFORE = 5, 5, 12, 24
#: With fewer stretches than these nothing can be told.
ENOUGH = LAST + APART + FEWEST_BEFORE
#: The highest chance that counts as none, and the least fall in thousandths.
MOST_CHANCE, LEAST_FALL = Fraction(1, 5000), 50
#: A fall is over once it is less than this.
OVER_BELOW = 25
#: By how many thousandths economy lies above its middle in each month if it follows the season wholly, from January on.
#: Half the swing is a twentieth on fuel and an eighth on charge. Common practice, no source.
_SEASON = (-10, -9, -5, 0, 5, 9, 10, 9, 5, 0, -5, -9)
_TENTH_OF_SWING: dict[Unit, int] = {"litre": 5, "kwh": 12}
#: Economy is compared as whole numbers of miles on so many thousandths, fine enough for any car.
_SCALE = 100_000_000


class Fall(NamedTuple):
    """A fall that goes on: the stretches ``since`` then, those ``before``, and by how many thousandths they are lower.

    It began with a stretch. ``before`` and ``since`` are pooled, as economy is.
    """

    unit: Unit
    began: Stretch
    last: Stretch
    tanks: int
    tanks_before: int
    before: Economy
    since: Economy
    thousandths: int


class _Value(NamedTuple):
    """What one stretch gave: as it is, and with the season taken out."""

    stretch: Stretch
    plain: int
    seasonless: int


def fall_of(found: Iterable[Stretch], unit: Unit) -> Fall | None:
    """The fall that goes on after the last stretch, if there is one; ``found`` are in order.

    Each stretch is looked at as it came, so that a fall begins on the same day however much follows.
    """
    values = [_value(one, unit) for one in usable(found)]
    usual: list[_Value] = []
    run: list[_Value] = []
    for end, value in enumerate(values, start=1):
        last = values[max(0, end - LAST) : end]
        if run and _goes_on(last, usual):
            run.append(value)
            continue
        # What was low for long is not taken into what is usual.
        run, usual = [], [*usual, value]
        before = usual[: -LAST - APART][-MOST_BEFORE:]
        if _is_fallen(last, before):
            run, usual = last, before
    return _fall(run, usual, unit) if run else None


def usable(found: Iterable[Stretch]) -> list[Stretch]:
    """The stretches that tell anything: some miles on some fuel."""
    return [one for one in found if one.miles > 0 and one.thousandths > 0]


def _is_fallen(last: Sequence[_Value], before: Sequence[_Value]) -> bool:
    return len(before) >= FEWEST_BEFORE and all(
        chance_of(pairs_below(few, many), len(few), len(many)) <= MOST_CHANCE
        and thousandths_lower(few, many) >= LEAST_FALL
        for few, many in _both_ways(last, before)
    )


def _goes_on(last: Sequence[_Value], before: Sequence[_Value]) -> bool:
    return all(thousandths_lower(few, many) >= OVER_BELOW for few, many in _both_ways(last, before))


def thousandths_lower(few: Sequence[int], many: Sequence[int]) -> int:
    """By how many thousandths ``few`` are lower: the median of all pairs.

    Hodges and Lehmann (1963), Estimates of Location Based on Rank Tests, Annals of Mathematical Statistics 34: it goes
    with the test, and single odd values do not move it.
    """
    return int(1000 - median(1000 * one // other for one in few for other in many))


def _both_ways(last: Sequence[_Value], before: Sequence[_Value]) -> Iterable[tuple[list[int], list[int]]]:
    yield [one.plain for one in last], [one.plain for one in before]
    yield [one.seasonless for one in last], [one.seasonless for one in before]


def _value(stretch: Stretch, unit: Unit) -> _Value:
    plain = _SCALE * stretch.miles // stretch.thousandths
    season = 1000 + _TENTH_OF_SWING[unit] * _SEASON[stretch.ends_on.month - 1]
    return _Value(stretch, plain, 1000 * plain // season)


def _fall(run: Sequence[_Value], usual: Sequence[_Value], unit: Unit) -> Fall:
    low = thousandths_lower([one.plain for one in run], [one.plain for one in usual])
    return Fall(
        unit,
        *(run[0].stretch, run[-1].stretch, len(run), len(usual)),
        *(_pooled(usual, unit), _pooled(run, unit), low),
    )


def _pooled(values: Iterable[_Value], unit: Unit) -> Economy:
    found = [one.stretch for one in values]
    return Economy(unit, sum(one.miles for one in found), sum(one.thousandths for one in found))
