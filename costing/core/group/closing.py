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
    minimum, nor for a year that would give away too much beside the months and years closed before, and no quartiles
    that would beside the median.
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
    hours = sorted(value.cost_per_lesson_hour for value in values)
    quartiles = may_have_quartiles(hours, rounding.lesson_hour)
    return counts._replace(
        median_cost_per_lesson_hour=_whole(hours, _HALF, rounding.lesson_hour),
        median_cost_per_mile=_whole([value.cost_per_mile for value in values], _HALF, rounding.mile),
        lower_quartile_cost_per_lesson_hour=_whole(hours, _QUARTER, rounding.lesson_hour) if quartiles else None,
        upper_quartile_cost_per_lesson_hour=_whole(hours, _THREE_QUARTERS, rounding.lesson_hour) if quartiles else None,
    )


def may_have_quartiles(ordered: Sequence[Fraction], step: int) -> bool:
    """Say whether quartiles of the sorted values may stand beside their median, all rounded to ``step``.

    They may if they and the median tell nobody's value more closely than a quarter of the step to somebody who knows
    all the others. This is asked not of the value that a contributor has but of every value with which the median would
    be the same: whoever knows the others can answer it without that value, so that the answer does not tell it.
    """
    if len(ordered) < QUARTILE_MINIMUM:
        return False
    median, middle = _whole(ordered, _HALF, step), (len(ordered) - 1) // 2
    for place in range(len(ordered)):
        others = [*ordered[:place], *ordered[place + 1 :]]
        # One figure alone tells no less than a step. Two tell less only between the last value that moves the one and
        # the first that moves the other, and so about a value beside the middle.
        for supposed in (others[middle - 1], others[middle + 1]):
            values = sorted([*others, supposed])
            figures = {part: _whole(values, part, step) for part, _ in _BY_HOUR.figures}
            told = told_by(figures.items(), step, ordered=values, own=supposed, weight=Fraction(1))
            if figures[_HALF] == median and told.high - told.low < Fraction(step, 4):
                return False
    return True


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
    of_year = _Known.by_measure(year, rounding)
    before = [_Known.by_measure(each, rounding) for each in (*months, *(each.by_its_values for each in years))]
    for key in values:
        told = [each.span(key, told_by) for each in of_year if each.has_value(key)]
        if tells_too_much(told, [span for known in before for span in _spans_before(known, key)]):
            return closing.without_figures
    return closing


def told_of_each(of: ClosedPeriod) -> dict[int, Told]:
    """Return what the figures of a period that is being closed tell of each contributor, by the member's key.

    That is what they tell somebody who knows all the other values of this day. It is kept, because the others may
    correct theirs later, and nobody could work it out again.
    """
    if of.closing is None or not of.closing.has_figures:
        return {}
    known = _Known.by_measure(of, Rounding(of.closing.rounded_to))
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
    def by_measure(cls, of: ClosedPeriod, rounding: Rounding) -> "list[_Known]":
        """What is known of a period by the hour and by the mile (see `about`)."""
        return [cls.about(of, measure, rounding) for measure in _MEASURES]

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
        return bool(self.weight(key))

    def span(self, key: int, telling: Callable[..., ValueBounds]) -> Span:
        """Return what the period's figures tell about one of its contributors, by ``telling`` (see `disclosure`)."""
        own = getattr(self.of.by_member[key].values, self.measure.value)
        told = telling(self.figures, self.step, ordered=self.ordered, own=own, weight=self.weight(key))
        return Span(self.of.period, told, self.finest)

    def weight(self, key: int) -> Fraction:
        """What makes the member's value pence; nothing if they have none."""
        values = self.of.by_member.get(key, NO_CONTRIBUTION).values
        return self.measure.weight(values) if values is not None else Fraction(0)


def _spans_before(known: Sequence[_Known], key: int) -> list[Span]:
    """Return what the figures of a period closed before, ``known`` by measure, tell about one member's pence in it."""
    of = known[0].of
    one = of.by_member.get(key, NO_CONTRIBUTION)
    told = of.told.get(key)
    # A cost without a value of its own still counts in the year, and no figure tells how much it is.
    bounds = ValueBounds.unknown(one.true_cost)
    if one.values is None or one.is_all_in_values:
        if told is not None and told.allows(one.true_cost):
            return [Span(of.period, told.bounds, min(each.finest * each.weight(key) for each in known))]
        if one == NO_CONTRIBUTION:
            bounds = ValueBounds(_ZERO, _ZERO, Fraction(1))
        elif told is not None or not of.told:
            # Nobody kept what was told, or it was told of records that the member has corrected since.
            return [each.span(key, told_whatever_others_had) for each in known if each.has_value(key)]
    return [Span(of.period, bounds, _ZERO)]


def _whole(values: Sequence[Fraction], part: Fraction, step: int) -> int:
    return int(rounded(quantile(values, part), step))
