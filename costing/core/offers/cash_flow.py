"""What an offer costs, month by month: every sum with the months it falls in, by one list of lines.

Months are 0 to n: month 0 is the start, month k the end of the k-th. A line's amount is exact until it is placed;
it is rounded half up once, as a whole, and what is spread over the months is shared by the one rule of shares.
"""

from collections.abc import Iterable
from typing import NamedTuple

from costing.core.money import divide_half_up
from costing.core.offers.exits import exit_lines
from costing.core.offers.lines import Line
from costing.core.offers.payments import payment_lines
from costing.core.offers.terms import Offer, Scene
from costing.core.shares import share


class CashFlow(NamedTuple):
    """Pence out by month 0..n, money back below zero; and the same by part."""

    months: tuple[int, ...]
    parts: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.months)


def cash_flow(offer: Offer, scene: Scene) -> CashFlow:
    """Work out what ``offer`` costs over the scene's months. Raises CannotBeHandedBack."""
    return place(lines_of(offer, scene), scene.months)


def lines_of(offer: Offer, scene: Scene) -> list[Line]:
    """Every sum of ``offer``: payments, what it does not include, and its exit. Raises CannotBeHandedBack."""
    return [*payment_lines(offer, scene), *_running_lines(offer, scene), *exit_lines(offer, scene)]


def place(lines: Iterable[Line], last: int) -> CashFlow:
    """Put each line into its months, in whole pence."""
    months, parts = [0] * (last + 1), dict[str, int]()
    for line in lines:
        pence = divide_half_up(line.amount, 1)
        if line.months is None:
            for month in range(1, last + 1):
                months[month] += share(pence, month, last) - share(pence, month - 1, last)
        else:
            for month in line.months:
                months[month] += pence
        parts[line.part] = parts.get(line.part, 0) + pence * line.times
    return CashFlow(tuple(months), {part: pence for part, pence in parts.items() if pence})


def _running_lines(offer: Offer, scene: Scene) -> list[Line]:
    """What running the car costs beside the offer, by the part it belongs to."""
    running, years = scene.running, scene.years
    starts = tuple(range(0, scene.months, 12))
    mots = tuple(m for m in range(12, scene.months + 1, 12) if offer.needs_mot(scene.end_of(m)))
    lines = [
        Line("fit_out", running.fit_out, (0,)),
        *_insurance(running.insurance, starts),
        Line("vehicle_tax", running.vehicle_tax_per_year, starts),
        Line("breakdown", running.breakdown_per_year, starts),
        Line("mot", running.mot, mots),
        Line("servicing", running.servicing_per_year * years),
        Line("repairs", running.repairs_per_year * years),
        Line("repairs", running.one_repair, ((scene.months + 1) // 2,)),
        Line("tyres", running.tyre_set * scene.miles / running.tyre_set_miles),
        Line("fuel", running.fuel_pence_per_mile * scene.miles),
    ]
    return [line for line in lines if line.part not in offer.includes]


def _insurance(by_year: tuple[int, ...], starts: tuple[int, ...]) -> list[Line]:
    """Each year's premium at its start; a list that is too short goes on with its last."""
    if not by_year:
        return []
    return [Line("insurance", by_year[min(year, len(by_year) - 1)], (start,)) for year, start in enumerate(starts)]


def total_of(lines: Iterable[Line]) -> int:
    """What `place` adds up to, in pence, without placing it; a payment between two pence counts as it is."""
    return sum(line.pence for line in lines)
