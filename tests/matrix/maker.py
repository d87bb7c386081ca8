"""Whose records are made, and of what: the hand that names each canary and says to whom it is open."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from fleet.models import Car
from instructors.models import Member
from tests.matrix.canaries import Canaries
from tests.matrix.roles import COORDINATORS


@dataclass(frozen=True)
class Maker:
    """Makes the records of one member on one car, kept from ``first`` to ``last``.

    The money is open to ``role`` alone; what falls due on the car and its condition also to ``keepers``, who keep
    it then or later, and to the coordinators. ``miles`` is what its odometer showed on the first day.
    """

    canaries: Canaries
    role: str
    member: Member
    car: Car
    first: date
    last: date
    miles: int
    keepers: frozenset[str]

    def name(self, what: str) -> str:
        """What a canary is called where it is found."""
        return f"{self.role}, {self.car.registration}: {what}"

    def sum(self, what: str, *, least: int = 100, most: int = 990) -> Decimal:
        """An amount of money, in pounds."""
        return self.canaries.sum(self.name(what), self.role, least=least, most=most)

    def count(self, what: str, *, least: int, most: int) -> int:
        """A number as private as the money."""
        return self.canaries.count(self.name(what), self.role, least=least, most=most)

    def words(self, what: str) -> str:
        """Words as private as the money."""
        return self.canaries.words(self.name(what), self.role)

    def ref(self, what: str) -> str:
        """A reference that no other member has any use for."""
        return self.canaries.ref(self.name(what), self.role)

    def ref_of_car(self, what: str) -> str:
        """A reference by which a file of the car's records knows one of them again."""
        return self.canaries.ref(self.name(what), *self.lookers)

    def words_of_car(self, what: str) -> str:
        """Words that whoever looks after the car may read."""
        return self.canaries.words(self.name(what), *self.lookers)

    def day_of_car(self, what: str, on: date) -> date:
        """A day that whoever looks after the car may know."""
        return self.canaries.day(self.name(what), on, *self.lookers)

    def odometer(self, what: str, number: int) -> int:
        """What the odometer showed at the ``number``-th fill."""
        least = self.miles + 800 * number
        return self.canaries.count(self.name(what), *self.lookers, least=least, most=least + 700)

    @property
    def lookers(self) -> frozenset[str]:
        return self.keepers | COORDINATORS | {self.role}

    def before(self, days: int) -> date:
        """The day so many days before the last."""
        return self.last - timedelta(days=days)

    def entry(self, what: str) -> dict[str, Any]:
        """What every record that a member logs has."""
        return {"car": self.car, "member": self.member, "ref": self.ref(f"reference of {what}")}
