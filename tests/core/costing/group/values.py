"""Contributors' values by hand, for the tests of the group's figures."""

from fractions import Fraction

from costing.core.group import ContributorValues


def member(
    hour: Fraction | int, mile: Fraction | int = 0, *, minutes: int = 6_000, miles: int = 1_500
) -> ContributorValues:
    """A member's values in pence; with no private miles, so that minutes weigh as they are."""
    return ContributorValues(Fraction(hour), Fraction(mile), Fraction(minutes), miles)


def hours(*pence: Fraction | int) -> list[ContributorValues]:
    """Members by their cost a lesson hour alone."""
    return [member(each) for each in pence]
