"""The group's median and quartiles, and who counts in them.

Only the number of contributors comes out beside the figures, and nothing below the minimum:
a smaller group could work out its members' costs from them.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from costing.core.money import divide_half_up, to_places
from costing.core.running_cost import Tally, business_share

#: The fewest contributors any co-op may set: its own minimum can only be higher.
LOWEST_MINIMUM = 5
#: Below this many contributors a quartile is all but one member's own figure.
QUARTILE_MINIMUM = 8
#: Days with a car in service a member needs in the period to count.
MINIMUM_SERVICE_DAYS = 28


class ContributorValues(NamedTuple):
    """One member's own costs in exact pence; ``cost_per_lesson`` is None without counted lessons."""

    cost_per_lesson_hour: Fraction
    cost_per_mile: Fraction
    cost_per_lesson: Fraction | None


class GroupFigures(NamedTuple):
    """What the group may see: whole pence, None where there are too few contributors.

    ``minimum`` is the one applied, never below five; ``suppressed`` says the group is below it.
    """

    contributors: int
    minimum: int
    suppressed: bool
    median_cost_per_lesson: int | None
    median_cost_per_lesson_hour: int | None
    median_cost_per_mile: int | None
    lower_quartile_cost_per_lesson_hour: int | None
    upper_quartile_cost_per_lesson_hour: int | None


def contributor_values(tallies: Iterable[Tally], service_days: int) -> ContributorValues | None:
    """Return one member's values from the tallies of all their cars and months in the period.

    The cars are taken together. ``service_days`` are the days of the period on which the member
    had at least one car in service (`running_cost.days_in_service`). None if the member does not
    count: under 28 such days, no miles, no lesson time, or more private miles than miles.
    """
    own = list(tallies)
    cost = sum(tally.true_cost for tally in own)
    miles = sum(tally.miles for tally in own)
    minutes = sum(tally.minutes for tally in own)
    lessons = sum(tally.lessons for tally in own)
    share = business_share(miles, sum(tally.private_miles for tally in own))
    if service_days < MINIMUM_SERVICE_DAYS or share is None or minutes <= 0:
        return None
    return ContributorValues(
        cost_per_lesson_hour=cost * share * 60 / minutes,
        cost_per_mile=Fraction(cost, miles),
        cost_per_lesson=cost * share / lessons if lessons > 0 else None,
    )


def quantile(values: Iterable[Fraction], part: Fraction) -> Fraction:
    """Return the value at ``part`` (0 to 1) of the way through the sorted values, exactly.

    Linear interpolation at (n - 1) x part, type 7 of Hyndman and Fan (1996); at one half it is the
    median, the mean of the two middle values when their number is even. Raises ValueError on none.
    """
    ordered = sorted(values)
    if not ordered:
        raise ValueError("no values, no quantile")
    place = (len(ordered) - 1) * part
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


def group_figures(values: Sequence[ContributorValues], minimum: int) -> GroupFigures:
    """Return the group's figures from one value a contributor, each rounded half up once.

    ``minimum`` is the co-op's own; anything below five counts as five.
    """
    minimum = max(minimum, LOWEST_MINIMUM)
    hours = [value.cost_per_lesson_hour for value in values]
    # Fewer may have counted lessons than contribute: the minimum holds for each figure by itself.
    lessons = [value.cost_per_lesson for value in values if value.cost_per_lesson is not None]
    quartiles_from = max(minimum, QUARTILE_MINIMUM)
    return GroupFigures(
        contributors=len(values),
        minimum=minimum,
        suppressed=len(values) < minimum,
        median_cost_per_lesson=_whole_pence(lessons, Fraction(1, 2), minimum),
        median_cost_per_lesson_hour=_whole_pence(hours, Fraction(1, 2), minimum),
        median_cost_per_mile=_whole_pence([v.cost_per_mile for v in values], Fraction(1, 2), minimum),
        lower_quartile_cost_per_lesson_hour=_whole_pence(hours, Fraction(1, 4), quartiles_from),
        upper_quartile_cost_per_lesson_hour=_whole_pence(hours, Fraction(3, 4), quartiles_from),
    )


def medians_by_key(values: Sequence[Mapping[str, Fraction]], minimum: int) -> dict[str, tuple[Decimal, int]]:
    """Return, by key, the median of one value a contributor, two places half up, and how many had a value.

    A key of fewer than ``minimum`` (never below five) values is left out, however many contribute to others.
    """
    minimum = max(minimum, LOWEST_MINIMUM)
    by_key = {
        key: [value[key] for value in values if key in value] for key in sorted({key for v in values for key in v})
    }
    return {
        key: (to_places(quantile(found, Fraction(1, 2)), 2), len(found))
        for key, found in by_key.items()
        if len(found) >= minimum
    }


def _whole_pence(values: Sequence[Fraction], part: Fraction, at_least: int) -> int | None:
    return divide_half_up(quantile(values, part), 1) if len(values) >= at_least else None
