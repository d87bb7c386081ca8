"""How finely the group's figures are told: the only form in which they are kept."""

from fractions import Fraction
from typing import NamedTuple


class Rounding(NamedTuple):
    """The steps, in whole pence, to which a lesson hour's and a mile's cost are rounded."""

    lesson_hour: int

    @property
    def mile(self) -> int:
        return self.lesson_hour // 10


def rounded(value: Fraction, step: int | Fraction) -> Fraction:
    """The multiple of ``step`` nearest to ``value``, a half going up; rounded once, from the exact value."""
    return (value / step + Fraction(1, 2)).__floor__() * Fraction(step)
