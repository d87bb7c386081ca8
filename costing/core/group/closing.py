"""What the book stores when it closes a month and the year that ends with it."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import NamedTuple

from costing.core.group.contributors import LOWEST_MINIMUM, QUARTILE_MINIMUM, ContributorValues
from costing.core.group.disclosure import Span, Told, ValueBounds, tells_too_much, told_by, told_whatever_others_had
from costing.core.group.medians import Rounding, quantile, rounded
from costing.core.records import Period

_ZERO, _HALF, _QUARTER, _THREE_QUARTERS = Fraction(0), Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)


#: A closed month is held against so many that follow it: until no year shares a month with one that it is in.
YEARS_SHARE_MONTHS = 22


class Closing(NamedTuple):
    """What is stored for one closed month, or for the year that ends with it; figures are rounded whole pence.

    ``out`` counts members who have standing and 28 days in service but gave no value. No figure is stored below the
    minimum, nor for a year that would give away too much beside the months and years closed before.
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

    @property
    def is_all_in_values(self) -> bool:
        """Whether the values have all of the true cost; a bill for a car that was out of service is in none."""
        return self.values is not None and self.values.pence == self.true_cost


#: A member who spent nothing and drove nothing: it adds nothing to their year.
NO_CONTRIBUTION = Contribution(0, None)


class ClosedPeriod(NamedTuple):
    """A month or a year, each member's contribution to it by key, and what was stored (None: it is not closed).

    ``told`` is what its figures told of each contributor when they were closed. It is empty where that was not kept:
    of a book that came from an archive, or was closed by an early release.
    """

    period: Period
    by_member: Mapping[int, Contribution]
    closing: Closing | None
    told: Mapping[int, Told] = {}

    @property
    def by_its_values(self) -> "ClosedPeriod":
        """The same period with no other cost than that in the values: all of a year that its figures speak of."""
        of_values = {
            key: one if one.values is None else Contribution(one.values.pence, one.values)
            for key, one in self.by_member.items()
        }
        return self._replace(by_member=of_values)


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
    period: Period,
    values: Mapping[int, ContributorValues],
    months: Sequence[ClosedPeriod],
    years: Sequence[ClosedPeriod],
    *,
    out: int,
    minimum: int,
    rounding: Rounding,
) -> Closing:
    """Close a year from one value for each contributor, by the member's key.

    ``years`` are those ended before that share a month with it, and ``months`` all of theirs and its own, including the
    one closed with it. The figures are left out if they, together with all of these, would tell somebody who knows all
    the other values a contributor's own cost, of this year or of any of them, to less than a quarter of the rounding
    that the period was closed with, and more finely than it has been told.
    """
    closing = close_month(list(values.values()), out=out, minimum=minimum, rounding=rounding)
    if not closing.has_figures:
        return closing
    year = ClosedPeriod(period, {key: Contribution(value.pence, value) for key, value in values.items()}, closing)
    of_year, before = (
        [_Known.about(each, measure, rounding) for each in periods for measure in _MEASURES]
        for periods in ([year], [*months, *(each.by_its_values for each in years)])
    )
    for key in values:
        told = [each.span(key, told_by) for each in of_year if each.has_value(key)]
        if tells_too_much(told, [each.span_before(key) for each in before]):
            return closing.without_figures
    return closing


def told_of_each(of: ClosedPeriod) -> dict[int, Told]:
    """Return what the figures of a period that is being closed tell of each contributor, by the member's key.

    That is what they tell somebody who knows all the other values of this day. It is kept, because the others may
    correct theirs later, and nobody could work it out again.
    """
    if of.closing is None or not of.closing.has_figures:
        return {}
    known = [_Known.about(of, measure, Rounding(of.closing.rounded_to)) for measure in _MEASURES]
    return {
        key: Told.by([each.span(key, told_by).bounds for each in known if each.has_value(key)])
        for key, one in of.by_member.items()
        if one.values is not None
    }


class _Measure(NamedTuple):
    """One of a contributor's values, the weight that makes it pence, its rounding, and the closing's figures of it.

    Each figure comes with the fraction of the way through the sorted values at which it is taken.
    """

    value: str
    weight: Callable[[ContributorValues], Fraction]
    step: Callable[[Rounding], int]
    figures: tuple[tuple[Fraction, str], ...]


_BY_HOUR = _Measure(
    "cost_per_lesson_hour",
    lambda values: values.weighed_minutes / 60,
    lambda rounding: rounding.lesson_hour,
    (
        (_QUARTER, "lower_quartile_cost_per_lesson_hour"),
        (_HALF, "median_cost_per_lesson_hour"),
        (_THREE_QUARTERS, "upper_quartile_cost_per_lesson_hour"),
    ),
)
_BY_MILE = _Measure(
    "cost_per_mile",
    lambda values: Fraction(values.miles),
    lambda rounding: rounding.mile,
    ((_HALF, "median_cost_per_mile"),),
)
_MEASURES = (_BY_HOUR, _BY_MILE)


class _Known(NamedTuple):
    """One period's values of one measure, sorted, and the figures that were stored from them."""

    of: ClosedPeriod
    ordered: list[Fraction]
    figures: list[tuple[Fraction, int]]
    step: int
    measure: _Measure
    finest: Fraction

    @classmethod
    def about(cls, of: ClosedPeriod, measure: _Measure, rounding: Rounding) -> "_Known":
        """What is known of a period, of which a quarter of its own rounding, else of ``rounding``, may be told."""
        step = measure.step(Rounding(of.closing.rounded_to) if of.closing else rounding)
        finest = Fraction(step, 4)
        each = of.by_member.values()
        ordered = sorted(getattr(one.values, measure.value) for one in each if one.values is not None)
        if of.closing is None:
            return cls(of, ordered, [], 0, measure, finest)
        figures = [(part, getattr(of.closing, name)) for part, name in measure.figures]
        told = [(part, figure) for part, figure in figures if figure is not None]
        return cls(of, ordered, told, step, measure, finest)

    def has_value(self, key: int) -> bool:
        """Whether the member's value of this measure is in the period's figures."""
        return bool(self._weight(key))

    def span(self, key: int, telling: Callable[..., ValueBounds]) -> Span:
        """Return what the period's figures tell about one of its contributors, by ``telling`` (see `disclosure`)."""
        own = getattr(self.of.by_member[key].values, self.measure.value)
        told = telling(self.figures, self.step, ordered=self.ordered, own=own, weight=self._weight(key))
        return Span(self.of.period, told, self.finest)

    def span_before(self, key: int) -> Span:
        """Return what the figures of a period closed before tell about one member's pence in it."""
        one = self.of.by_member.get(key, NO_CONTRIBUTION)
        told = self.of.told.get(key)
        # A cost without a value of its own still counts in the year, and no figure tells how much it is.
        finest, bounds = self.finest, ValueBounds.unknown(one.true_cost)
        if one.values is None or one.is_all_in_values:
            if told is not None and told.allows(one.true_cost):
                finest, bounds = finest * self._weight(key), told.bounds
            elif one == NO_CONTRIBUTION:
                bounds = ValueBounds(_ZERO, _ZERO, Fraction(1))
            elif self.has_value(key) and (told is not None or not self.of.told):
                # Nobody kept what was told, or it was told of records that the member has corrected since.
                return self.span(key, told_whatever_others_had)
        return Span(self.of.period, bounds, finest)

    def _weight(self, key: int) -> Fraction:
        values = self.of.by_member.get(key, NO_CONTRIBUTION).values
        return self.measure.weight(values) if values is not None else Fraction(0)


def _whole(values: Sequence[Fraction], part: Fraction, step: int) -> int:
    return int(rounded(quantile(values, part), step))
