"""What a car burned in a period, by unit: fuel and charge, shared over days as the money of the fills is."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import NamedTuple, cast

from costing.core.parts import parts
from costing.core.records import CarBook, Fill, Period, Unit
from costing.core.spent import Spent


class Burned(NamedTuple):
    """Pence, and the thousandths of a litre or kWh that they paid for."""

    pence: int
    thousandths: int


def burned(books: Iterable[CarBook], period: Period) -> dict[Unit, Burned]:
    """Return what the cars of ``books`` burned in ``period``; a unit of which there was nothing is left out.

    The pence add up to the fuel of their `running_cost`.
    """
    pence: Counter[Unit] = Counter()
    thousandths: Counter[Unit] = Counter()
    for book in books:
        # Without the other costs, and then with the quantity in the place of the money, one rule shares both.
        fuel = book._replace(costs=())
        measured = fuel._replace(fills=tuple(fill._replace(pence=fill.thousandths) for fill in book.fills))
        pence.update(_by_unit(Spent(fuel), period))
        thousandths.update(_by_unit(Spent(measured), period))
    return {unit: Burned(pence[unit], thousandths[unit]) for unit in sorted({*pence, *thousandths})}


def _by_unit(spent: Spent, period: Period) -> Counter[Unit]:
    found: Counter[Unit] = Counter()
    for record, used, _ in parts(spent, period):
        if used:
            # Without costs, all parts are of fills.
            found[cast(Fill, record).unit] += used
    return found


def is_measured(fuel: int, by_unit: Mapping[Unit, Burned]) -> bool:
    """Say whether all the pence of ``fuel`` were paid for a quantity that is known."""
    paid = sum(one.pence for one in by_unit.values())
    return paid == fuel and all(one.thousandths > 0 for one in by_unit.values())
