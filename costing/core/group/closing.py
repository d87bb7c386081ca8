"""What the book stores when it closes a month and the year that ends with it."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.group.contributors import LOWEST_MINIMUM, QUARTILE_MINIMUM, ContributorValues
from costing.core.group.disclosure import ValueBounds, tells_too_much, told_by, told_whatever_others_had
from costing.core.group.medians import Rounding, quantile, rounded

_HALF, _QUARTER, _THREE_QUARTERS = Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)


class Closing(NamedTuple):
    """What is stored for one closed month, or for the year that ends with it; figures are rounded whole pence.

    ``out`` counts members who have standing and 28 days in service but gave no value. No figure is stored below the
    minimum, nor for a year that would give away too much beside its months.
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
        """The same closing with its counts alone."""
        return Closing(self.contributors, self.out, self.minimum, self.rounded_to)


#: The names of the figures in a closing, as the book, the archive and the commands spell them.
CLOSED_FIGURES: tuple[str, ...] = tuple(Closing._field_defaults)


class Contribution(NamedTuple):
    """What one member brings to a period: their true cost in pence, and their values if they contribute."""

    true_cost: int
    values: ContributorValues | None


#: A member who spent nothing and drove nothing: it adds nothing to their year.
NO_CONTRIBUTION = Contribution(0, None)
#: One month of a year: each member's contribution by key, and its closing (None: it is not closed).
Month = tuple[Mapping[int, Contribution], Closing | None]


def close_month(values: Sequence[ContributorValues], *, out: int, minimum: int, rounding: Rounding) -> Closing:
    """Close a period from one value for each contributor; a ``minimum`` below five counts as five."""
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
    """Close a year from one value for each contributor, by the member's key.

    ``months`` are its twelve months, including the one closed with it. The figures are left out if they, together with
    the months' figures, would tell somebody who knows all the other values a contributor's own cost to less than a
    quarter of the rounding, and more finely than the months alone have told it.
    """
    closing = close_month(list(values.values()), out=out, minimum=minimum, rounding=rounding)
    if not closing.has_figures:
        return closing
    finest = Rounding(min([closing.rounded_to, *(closed.rounded_to for _, closed in months if closed is not None)]))
    for measure in (_BY_HOUR, _BY_MILE):
        of_year = _Known.of({key: Contribution(0, value) for key, value in values.items()}, closing, measure)
        of_months = [_Known.of(contributions, closed, measure) for contributions, closed in months]
        for key in values:
            adding = [month for month in of_months if month.contributions.get(key, NO_CONTRIBUTION) != NO_CONTRIBUTION]
            told = [month.tell(key, told_whatever_others_had) for month in adding]
            if tells_too_much(of_year.tell(key, told_by), told, Fraction(measure.step(finest), 4)):
                return closing.without_figures
    return closing


class _Measure(NamedTuple):
    """One of a contributor's values, its weight, its rounding, and the closing's figures that are made from it.

    Each figure comes with the fraction of the way through the sorted values at which it is taken.
    """

    value: str
    weight: str
    step: Callable[[Rounding], int]
    figures: tuple[tuple[Fraction, str], ...]


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
    """One period's values of one measure, sorted, and the figures that were stored from them."""

    contributions: Mapping[int, Contribution]
    ordered: list[Fraction]
    figures: list[tuple[Fraction, int]]
    step: int
    measure: _Measure

    @classmethod
    def of(cls, contributions: Mapping[int, Contribution], closed: Closing | None, measure: _Measure) -> "_Known":
        ordered = sorted(getattr(one.values, measure.value) for one in contributions.values() if one.values is not None)
        if closed is None:
            return cls(contributions, ordered, [], 0, measure)
        figures = [(part, getattr(closed, name)) for part, name in measure.figures]
        told = [(part, figure) for part, figure in figures if figure is not None]
        return cls(contributions, ordered, told, measure.step(Rounding(closed.rounded_to)), measure)

    def tell(self, key: int, telling: Callable[..., ValueBounds]) -> ValueBounds:
        """Return what the period's figures tell about one of its contributors, by ``telling`` (see `disclosure`)."""
        values = self.contributions[key].values
        weight = Fraction(getattr(values, self.measure.weight, 0))
        if not weight:
            # A cost without a value of its own still counts in the year, and no figure tells how much it is.
            return ValueBounds.unknown(self.contributions[key].true_cost)
        own = getattr(values, self.measure.value)
        return telling(self.figures, self.step, ordered=self.ordered, own=own, weight=weight)


def _whole(values: Sequence[Fraction], part: Fraction, step: int) -> int:
    return int(rounded(quantile(values, part), step))
