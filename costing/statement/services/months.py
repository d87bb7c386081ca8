"""Twelve months of a lesson hour beside a statement, of one car or of all that a member kept."""

from datetime import date

from config.showing import month
from costing.core.group import shown
from costing.core.periods import months_ending, months_within
from costing.queries import closings_of_year
from costing.report import OwnBesideGroup, reports_of, taken_together
from costing.statement.services.own import own_books
from fleet.models import Car
from instructors.models import Cooperative, Member


def twelve_months(member: Member, last: date, settings: Cooperative, *, car: Car | None = None) -> list[OwnBesideGroup]:
    """Return the 12 months that end with the month of ``last``, oldest first; the group's beside all cars alone.

    It takes the same number of queries whatever the months hold; none without a car.
    """
    year = months_ending(last.replace(day=1), 12)
    months = months_within(year)
    kept = own_books(member, year, car)
    if kept is None:
        return []
    rate = settings.depreciation_rate
    own = taken_together([reports_of(one, kept.uses[one.pk], months, rate) for one in kept.cars], len(months))
    closings = {} if car else closings_of_year([one.first for one in months])
    least = settings.minimum_contributors
    beside = {one: shown(closing, least) for one, closing in closings.items()}
    return [
        OwnBesideGroup(month(one.first), one, figures, beside.get(one))
        for one, figures in zip(months, own, strict=True)
    ]
