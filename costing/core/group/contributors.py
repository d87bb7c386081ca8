"""Who contributes to the group's figures, and with which values."""

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from costing.core.running_cost import Tally, business_share

#: The lowest minimum of contributors that a co-op can set.
LOWEST_MINIMUM = 5
#: With fewer contributors, a quartile is almost one member's own figure.
QUARTILE_MINIMUM = 8
#: A contributor needs so many days with a car in service in the period.
MINIMUM_SERVICE_DAYS = 28
#: A contributor needs so many days in the co-op, so that nobody can invent members for one closing.
STANDING_DAYS = 90


class ContributorValues(NamedTuple):
    """One member's own costs in exact pence, and what they were divided by.

    ``weighed_minutes`` are the lesson minutes divided by the business share. The true cost is the cost of a lesson hour
    times weighed minutes / 60, so the months of a year add up to the year. They are 0 if every mile was private.
    """

    cost_per_lesson_hour: Fraction
    cost_per_mile: Fraction
    weighed_minutes: Fraction
    miles: int

    @property
    def pence(self) -> int:
        """The true cost that is in the values, in whole pence."""
        return int(self.cost_per_mile * self.miles)


def has_standing(joined_on: date | None, last_day: date) -> bool:
    """Say whether a member joined at least 90 days before the period's last day; without a joining day they did not."""
    return joined_on is not None and (last_day - joined_on).days >= STANDING_DAYS


def contributor_values(tallies: Iterable[Tally], service_days: int) -> ContributorValues | None:
    """Return one member's values from the tallies of all their cars in the period.

    ``service_days`` are the days of the period on which the member had at least one car in service
    (`keeping.days_with_a_car`). Return None if they are fewer than 28, if the figures of one of the cars are not known
    (a borrowed one aside), if there are no miles, no lessons or no lesson time, or if private miles exceed all miles.
    """
    own = [tally for tally in tallies if tally.service_days]
    cost = sum(tally.true_cost for tally in own)
    miles = sum(tally.miles for tally in own)
    minutes = sum(tally.minutes for tally in own)
    lessons = sum(tally.lessons for tally in own)
    share = business_share(miles, sum(tally.private_miles for tally in own))
    kept = [tally for tally in own if not tally.is_borrowed]
    is_known = bool(kept) and all(tally.is_known for tally in kept)
    if service_days < MINIMUM_SERVICE_DAYS or not is_known or share is None or minutes <= 0 or lessons <= 0:
        return None
    return ContributorValues(
        cost_per_lesson_hour=cost * share * 60 / minutes,
        cost_per_mile=Fraction(cost, miles),
        weighed_minutes=minutes / share if share else Fraction(0),
        miles=miles,
    )
