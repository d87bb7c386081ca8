"""Twelve months of a lesson hour beside a statement, of one car or of all that a member kept."""

from datetime import date

from config.showing import month
from costing.core.group import shown
from costing.core.periods import months_ending, months_within
from costing.core.records import Period
from costing.queries import closings_of_year
from costing.report import OwnBesideGroup, taken_together
from costing.statement.services.own import OwnBooks
from instructors.models import Cooperative


def days_of_months(last: date) -> Period:
    """Return the days of the 12 months that end with the month of ``last``."""
    return months_ending(last.replace(day=1), 12)


def twelve_months(own: OwnBooks, last: date, settings: Cooperative) -> list[OwnBesideGroup]:
    """Return the 12 months that end with the month of ``last``, oldest first; the group's beside all cars alone."""
    year = days_of_months(last)
    months = months_within(year)
    figures_of = taken_together(own.reaching(year).reports(months), len(months))
    closings = {} if own.car else closings_of_year([one.first for one in months])
    least = settings.minimum_contributors
    beside = {one: shown(closing, least) for one, closing in closings.items()}
    return [
        OwnBesideGroup(month(one.first), one, figures, beside.get(one))
        for one, figures in zip(months, figures_of, strict=True)
    ]
