"""Exact sums and hours as people read them."""

from decimal import Decimal
from fractions import Fraction

from config.showing import pence_as_pounds
from costing.core.money import divide_half_up, to_places


def exact(value: Decimal) -> Fraction:
    return Fraction(value)


def in_pence(pounds: Decimal) -> Fraction:
    return Fraction(pounds) * 100


def money(pence: Fraction | int | None) -> str:
    return pence_as_pounds(divide_half_up(pence or 0, 1))


def plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


def figure(hours: Fraction | int) -> str:
    """Hours with at most one decimal, as people say them."""
    value = to_places(Fraction(hours), 1)
    return plain(value) if value else "0"


def hours_in_words(hours: Fraction | int) -> str:
    shown = figure(hours)
    return f"{shown} hour{'' if shown == '1' else 's'}"


def lessons_in_words(count: int) -> str:
    return f"{count} lesson{'' if count == 1 else 's'}"
