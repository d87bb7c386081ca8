"""What is kept of a month and its year when they are closed."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.group.contributors import LOWEST_MINIMUM, QUARTILE_MINIMUM, ContributorValues
from costing.core.group.disclosure import Told, tells_too_much, told_by, told_whatever_others_had
from costing.core.group.medians import quantile
from costing.core.group.rounding import Rounding, rounded

_HALF, _QUARTER, _THREE_QUARTERS = Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)


class Closing(NamedTuple):
    """What is kept of one closed month, or of the year that ends with it; figures are rounded whole pence.

    ``out`` counts those with standing and 28 days in service who gave no value. No figure is kept below the minimum,
    nor one of a year that with its months would tell too much.
    """

    contributors: int
    out: int
    minimum: int
    rounded_to: int
    median_cost_per_lesson_hour: int | None = None
    median_cost_per_mile: int | None = None
    lower_quartile_cost_per_lesson_hour: int | None = None
    upper_quartile_cost_per_lesson_hour: int | None = None

    @property
    def has_figures(self) -> bool:
        return self.median_cost_per_lesson_hour is not None

    @property
    def without_figures(self) -> "Closing":
        """The counts alone."""
        return Closing(self.contributors, self.out, self.minimum, self.rounded_to)


class Part(NamedTuple):
    """One member's part in a month: their true cost in pence, and their values where they contributed any."""

    true_cost: int
    values: ContributorValues | None


#: Of a member who spent and drove nothing: it adds nothing to their year.
NO_PART = Part(0, None)
#: Of one of the year's months: each member's part by their key, and what was kept of it (None: it is not closed).
Month = tuple[Mapping[int, Part], Closing | None]


def close_month(values: Sequence[ContributorValues], *, out: int, minimum: int, rounding: Rounding) -> Closing:
    """Return what is kept of a period from one value a contributor; a ``minimum`` below five counts as five."""
    minimum = max(minimum, LOWEST_MINIMUM)
    counts = Closing(len(values), out, minimum, rounding.lesson_hour)
    if len(values) < minimum:
        return counts
    hours = [value.cost_per_lesson_hour for value in values]
    quartiles = len(values) >= QUARTILE_MINIMUM
    return counts._replace(
        median_cost_per_lesson_hour=_whole(hours, _HALF, rounding.lesson_hour),
        median_cost_per_mile=_whole([value.cost_per_mile for value in values], _HALF, rounding.mile),
        lower_quartile_cost_per_lesson_hour=_whole(hours, _QUARTER, rounding.lesson_hour) if quartiles else None,
        upper_quartile_cost_per_lesson_hour=_whole(hours, _THREE_QUARTERS, rounding.lesson_hour) if quartiles else None,
    )


def close_year(
    values: Mapping[int, ContributorValues],
    months: Sequence[Month],
    *,
    out: int,
    minimum: int,
    rounding: Rounding,
) -> Closing:
    """Return what is kept of a year from one value a contributor, by the member's key.

    ``months`` are the year's twelve, the one that is closed with it among them. The figures are left out if they and
    the months' together told somebody who knows all the others' values a contributor's own cost more finely than a
    quarter of the rounding, and more finely than the months have told it.
    """
    closing = close_month(list(values.values()), out=out, minimum=minimum, rounding=rounding)
    if not closing.has_figures:
        return closing
    finest = Rounding(min([closing.rounded_to, *(kept.rounded_to for _, kept in months if kept is not None)]))
    for measure in (_BY_HOUR, _BY_MILE):
        of_year = _Known.of({key: Part(0, value) for key, value in values.items()}, closing, measure)
        of_months = [_Known.of(parts, kept, measure) for parts, kept in months]
        for key in values:
            adding = [month for month in of_months if key in month.parts and month.parts[key] != NO_PART]
            told = [month.tell(key, told_whatever_others_had) for month in adding]
            if tells_too_much(of_year.tell(key, told_by), told, Fraction(measure.step(finest), 4)):
                return closing.without_figures
    return closing


class _Measure(NamedTuple):
    """A value of a contributor, what it is of, its rounding, and the figures of a closing that are made from it."""

    value: str
    weight: str
    step: Callable[[Rounding], int]
    parts: tuple[tuple[Fraction, str], ...]


_BY_HOUR = _Measure(
    "cost_per_lesson_hour",
    "weighed_minutes",
    lambda rounding: rounding.lesson_hour,
    (
        (_QUARTER, "lower_quartile_cost_per_lesson_hour"),
        (_HALF, "median_cost_per_lesson_hour"),
        (_THREE_QUARTERS, "upper_quartile_cost_per_lesson_hour"),
    ),
)
_BY_MILE = _Measure("cost_per_mile", "miles", lambda rounding: rounding.mile, ((_HALF, "median_cost_per_mile"),))


class _Known(NamedTuple):
    """One period's values of one measure in order, and what was kept of them."""

    parts: Mapping[int, Part]
    ordered: list[Fraction]
    figures: list[tuple[Fraction, int]]
    step: int
    measure: _Measure

    @classmethod
    def of(cls, parts: Mapping[int, Part], kept: Closing | None, measure: _Measure) -> "_Known":
        ordered = sorted(getattr(part.values, measure.value) for part in parts.values() if part.values is not None)
        if kept is None:
            return cls(parts, ordered, [], 0, measure)
        figures = [(part, getattr(kept, name)) for part, name in measure.parts]
        told = [(part, figure) for part, figure in figures if figure is not None]
        return cls(parts, ordered, told, measure.step(Rounding(kept.rounded_to)), measure)

    def tell(self, key: int, telling: Callable[..., Told]) -> Told:
        """What the period's figures tell of a member with a part in it, by one of the two ways of `disclosure`."""
        values = self.parts[key].values
        weight = Fraction(getattr(values, self.measure.weight, 0))
        if not weight:
            # Cost that has no value of its own enters the year all the same, and nothing tells how much it is.
            return Told.nothing(self.parts[key].true_cost)
        own = getattr(values, self.measure.value)
        return telling(self.figures, self.step, ordered=self.ordered, own=own, weight=weight)


def _whole(values: Sequence[Fraction], part: Fraction, step: int) -> int:
    return int(rounded(quantile(values, part), step))
