"""Contributors' values by hand, and the months in which they have them, for the tests of the group's figures."""

from datetime import date
from fractions import Fraction

from costing.core.group import Contribution, ContributorValues
from costing.core.periods import month_of, months_ending
from costing.core.records import Period
from fleet.core.days import add_months

JANUARY = date(2024, 1, 1)


def member(
    hour: Fraction | int, mile: Fraction | int = 0, *, minutes: int = 6_000, miles: int = 1_500
) -> ContributorValues:
    """A member's values in pence; with no private miles, so that minutes weigh as they are."""
    return ContributorValues(Fraction(hour), Fraction(mile), Fraction(minutes), miles)


def hours(*pence: Fraction | int) -> list[ContributorValues]:
    """Members by their cost a lesson hour alone."""
    return [member(each) for each in pence]


def brought(pence: int, hours: int, miles: int) -> Contribution:
    """What a member brings who spent so much on so many hours and miles, none of them private."""
    return Contribution(
        pence, ContributorValues(Fraction(pence, hours), Fraction(pence, miles), Fraction(60 * hours), miles)
    )


def month(number: int) -> Period:
    """The month of this number, from a January on, which is number 0."""
    return month_of(add_months(JANUARY, number))


def up_to(number: int, count: int = 12) -> Period:
    """So many months, the last of which has this number."""
    return months_ending(month(number).first, count)
