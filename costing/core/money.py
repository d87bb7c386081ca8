"""Pounds and pence, and the one way this project rounds: half up, away from zero."""

from decimal import Decimal
from fractions import Fraction


def divide_half_up(numerator: int | Fraction, denominator: int | Fraction) -> int:
    """Return the quotient as the nearest whole number, a half going away from zero.

    The division is exact, so that it is rounded only once. Raises ZeroDivisionError.
    """
    # Whole numbers throughout: a fraction in lowest terms would cost more than the division.
    top = numerator.numerator * denominator.denominator
    bottom = numerator.denominator * denominator.numerator
    nearest = (2 * abs(top) + abs(bottom)) // (2 * abs(bottom))
    return nearest if (top < 0) is (bottom < 0) else -nearest


def to_places(value: Decimal | Fraction, places: int) -> Decimal:
    """Return ``value`` with ``places`` decimals, half up. Raises ValueError on "not a number"."""
    return Decimal(divide_half_up(Fraction(value) * 10**places, 1)).scaleb(-places)


def to_pence(pounds: Decimal) -> int:
    """Return whole pence for a sum in pounds, half up. Raises ValueError on "not a number"."""
    numerator, denominator = pounds.as_integer_ratio()
    pence, rest = divmod(numerator * 100, denominator)
    # Sums from the book are whole pence; only others need the slower rounding.
    return divide_half_up(Fraction(numerator * 100, denominator), 1) if rest else pence


def to_pounds(pence: int) -> Decimal:
    """Return a sum of whole pence as pounds with two decimals."""
    return Decimal(pence).scaleb(-2)
