"""The door to the cost book. The fleet may not import the app that keeps it: a setting names it."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import NamedTuple, Protocol, cast

from django.conf import settings
from django.utils.module_loading import import_string

from fleet.models import Car
from instructors.models import Member


class WorkCost(NamedTuple):
    """What work on a car cost its keeper, in pounds; ``covers_from`` and ``covers_to`` for cover by days.

    ``covers_miles`` is how far it is to last, for tyres. Cover is by days or by miles, never both.
    """

    category: str
    paid_on: date
    amount: Decimal
    covers_from: date | None = None
    covers_to: date | None = None
    supplier: str = ""
    note: str = ""
    covers_miles: int | None = None


class CostBook(Protocol):
    """What ``settings.COST_BOOK`` can do. A member sees and writes their own costs only."""

    def log(self, *, by: Member, car: Car, ref: str, cost: WorkCost) -> None:
        """Log a cost once for each ``ref``. Raises ValidationError on the field that is wrong."""
        ...

    def amounts(self, *, of: Member, refs: Collection[str]) -> Mapping[str, Decimal]:
        """What the member's own standing entries with these references came to, in pounds."""
        ...

    def find(self, *, of: Member, car: Car, ref: str) -> WorkCost | None:
        """The member's own standing entry on ``car`` with this reference, if there is one."""
        ...

    def paid_on(self, *, car_ids: Collection[int], category: str, until: date) -> Iterable[tuple[int, date, int]]:
        """Car id, day and member's id of each standing payment up to ``until``: not how much. One query."""
        ...


def cost_book() -> CostBook:
    """The cost book of this installation."""
    return cast(CostBook, import_string(settings.COST_BOOK))
