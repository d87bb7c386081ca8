"""The figures by which offers are compared."""

from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer, WhatIf
from costing.core.catalogue.agreements import Way


class CashFlow(NamedTuple):
    """Pence told for each month from 0 to m, and for each part; money that comes back is below zero."""

    months: tuple[int, ...]
    parts: Mapping[str, int]

    @property
    def total(self) -> int:
        return sum(self.months)


class WayOut(NamedTuple):
    """One way of leaving the car at month m, for ``pence`` then; below zero if money comes back.

    Where there is no amount, ``reason`` says why. ``disputed`` is the charge for extra miles inside the half rule's
    amount, which a lender may not be owed.
    """

    way: Way
    pence: int | None
    reason: str = ""
    is_taken: bool = False
    disputed: int = 0


class MonthSum(NamedTuple):
    """The pence of one month."""

    month: int
    pence: int


class Figures(NamedTuple):
    """One offer over ``months``, in pence. None is what can't be said, because something isn't told.

    ``not_told`` and ``assumed`` name parts and keys. ``at_least`` and ``at_most`` bound the total whatever the untold
    parts come to; None is no bound. ``hours_a_week`` is how many lesson hours a week go to pay for the car; ``apr`` is
    in per cent, and only for credit.
    """

    offer: Offer
    months: int
    flow: CashFlow
    not_told: tuple[str, ...]
    assumed: tuple[str, ...]
    ways_out: tuple[WayOut, ...]
    at_least: int | None
    at_most: int | None
    per_week: int | None
    per_mile: int | None
    per_lesson_hour: int | None
    up_front: int | None
    dearest: MonthSum | None
    hours_a_week: Decimal | None
    apr: Decimal | None
    present_value: int | None
    after_tax: int | None
    lowest_purse: MonthSum | None

    @property
    def told(self) -> int:
        """What is told, which is the total only if nothing is left out."""
        return self.flow.total

    @property
    def total(self) -> int | None:
        """What the car costs in all; None if anything isn't told."""
        return None if self.not_told else self.flow.total

    @property
    def way_out(self) -> str:
        """The way by which one leaves."""
        return next(way.way for way in self.ways_out if way.is_taken)


def figures(case: Case, offer: Offer, *, months: int | None = None, what_if: WhatIf | None = None) -> Figures:
    """Work out one offer of a case: as planned, left after ``months``, or if something happens."""
    raise NotImplementedError


def expected_total(case: Case, offer: Offer) -> int | None:
    """The pence to expect over the chances of leaving; None without any, or where a total isn't known."""
    raise NotImplementedError
