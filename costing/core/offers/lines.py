"""One sum of an offer and the months it falls in."""

from fractions import Fraction
from typing import NamedTuple

from costing.core.money import divide_half_up


class Line(NamedTuple):
    """``amount`` pence falls in each of ``months``; without them it is one sum, spread over all after the start.

    ``part`` says where the money goes; money that comes back is below zero.
    """

    part: str
    amount: Fraction | int
    months: tuple[int, ...] | None = None

    @property
    def times(self) -> int:
        return 1 if self.months is None else len(self.months)

    @property
    def pence(self) -> int:
        """All of it in whole pence, rounded half up once."""
        whole = self.amount * self.times
        return whole if isinstance(whole, int) else divide_half_up(whole, 1)
