"""The tyres of a car: what was read and moved, and how each wears."""

from datetime import date
from typing import NamedTuple

from fleet.core.tread import Move
from fleet.core.wear import TreadState, Wear, wear_of_tyre
from fleet.models import Car, Wheel
from fleet.queries.condition import treads_of
from fleet.queries.miles import readings_of


class TreadReport(NamedTuple):
    """The tyres of one car on one day: each wheel in the order of ``Wheel``, and the moves, latest first."""

    on: date
    wheels: tuple[Wear, ...]
    moves: tuple[Move, ...]

    @property
    def worst(self) -> Wear | None:
        """The wheel that stands worst, then by the least tread when last read; None if none was read."""
        order = list(TreadState)
        read = [(order.index(wear.state), wear.latest.lowest, wear) for wear in self.wheels if wear.latest]
        return min(read, key=lambda known: known[:2])[2] if read else None


def tread_report(car: Car, on: date) -> TreadReport:
    """How the tyres of ``car`` stand on ``on``, by what was read up to that day."""
    depths, moves = treads_of([car.pk], on)[car.pk]
    odometer = readings_of([car.pk])[car.pk].until(on)
    wheels = tuple(wear_of_tyre(wheel, depths, moves, odometer, on) for wheel in Wheel.values)
    return TreadReport(on, wheels, tuple(sorted(moves, key=lambda move: (move.moved_on, move.wheel), reverse=True)))
