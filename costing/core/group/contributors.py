"""Who counts in the group's figures, and with which values."""

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from costing.core.running_cost import Tally, business_share

#: The fewest contributors any co-op may set: its own minimum can only be higher.
LOWEST_MINIMUM = 5
#: Below this many contributors a quartile is all but one member's own figure.
QUARTILE_MINIMUM = 8
#: Days with a car in service a member needs in the period to count.
MINIMUM_SERVICE_DAYS = 28
#: Days in the co-op before a member counts: invented members cannot be conjured up for one closing.
STANDING_DAYS = 90


class ContributorValues(NamedTuple):
    """One member's own costs in exact pence, and what they were divided by.

    ``weighed_minutes`` are the lesson minutes over the business share: cost a lesson hour x weighed minutes / 60 is
    the true cost, so that the months of a year add up to it; 0 where all miles were private, which tells no cost.
    """

    cost_per_lesson_hour: Fraction
    cost_per_mile: Fraction
    weighed_minutes: Fraction
    miles: int


def has_standing(joined_on: date | None, last_day: date) -> bool:
    """Whether a member joined at least 90 days before the period's last day; one of no known day did not."""
    return joined_on is not None and (last_day - joined_on).days >= STANDING_DAYS


def contributor_values(tallies: Iterable[Tally], service_days: int) -> ContributorValues | None:
    """Return one member's values from the tallies of all their cars in the period, taken together.

    ``service_days`` are the days of the period on which the member had at least one car in service
    (`running_cost.days_in_service`). None if one of the three figures (a lesson hour, a lesson, a mile) is absent:
    under 28 such days, no miles, no lessons or lesson time, or more private miles than miles.
    """
    own = list(tallies)
    cost = sum(tally.true_cost for tally in own)
    miles = sum(tally.miles for tally in own)
    minutes = sum(tally.minutes for tally in own)
    lessons = sum(tally.lessons for tally in own)
    share = business_share(miles, sum(tally.private_miles for tally in own))
    if service_days < MINIMUM_SERVICE_DAYS or share is None or minutes <= 0 or lessons <= 0:
        return None
    return ContributorValues(
        cost_per_lesson_hour=cost * share * 60 / minutes,
        cost_per_mile=Fraction(cost, miles),
        weighed_minutes=minutes / share if share else Fraction(0),
        miles=miles,
    )
