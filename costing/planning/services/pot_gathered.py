"""What the bills of the pot follow from, gathered once: what falls due, the tyres, the member's own rows."""

from collections.abc import Mapping
from datetime import date
from typing import NamedTuple

from costing.core.records import Period
from costing.planning.services.pot_rows import PotRows, pot_rows
from fleet.core.odometer import Odometer
from fleet.models import Car
from fleet.queries import DueReport, TreadReport, tread_reports
from instructors.models import Member


class Gathered(NamedTuple):
    """All that the bills follow from."""

    member: Member
    year: Period
    due: DueReport
    treads: Mapping[int, TreadReport]
    rows: PotRows

    @property
    def cars(self) -> list[Car]:
        return [due.car for due in self.due.cars]

    def until(self, car: Car) -> date:
        """The last day on which a bill for the car is the member's."""
        return min(filter(None, [self.year.last, car.in_service_to, self.member.left_on]))


def rows_of(member: Member, due: DueReport) -> PotRows:
    """Return the member's rows for the cars on which something may fall due: two queries at most."""
    kinds = {line.kind.name for one in due.cars for line in one.items}
    return pot_rows(member, [one.car for one in due.cars], kinds)


def gather(
    member: Member, year: Period, due: DueReport, rows: PotRows, odometers: Mapping[int, Odometer] | None = None
) -> Gathered:
    """Read what else the bills follow from: the tyres, and the ``odometers`` by car id if they are not given."""
    return Gathered(member, year, due, tread_reports([one.car for one in due.cars], year.first, odometers), rows)
