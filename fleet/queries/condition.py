"""The condition of the cars, as far as it may keep them off the road, and how their tyres wear."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Max, Q, Window
from django.db.models.functions import RowNumber

from fleet.core.defects import OpenDefect, Severity
from fleet.core.readiness import NOTHING_WRONG, Condition
from fleet.core.tread import LEGAL_LEAST, Depth, Move, latest_depths, unlawful_wheels
from fleet.core.wear import TreadState, Wear, wear_of_tyre
from fleet.models import Car, Confirmation, Defect, DefectState, TreadReading, TyreMove, Wheel
from fleet.queries.miles import readings_of

#: The point of readiness that the insurance policy covers driving tuition.
TUITION_COVER = "tuition_insurance"


def conditions_of(car_ids: Collection[int], on: date) -> dict[int, Condition]:
    """The condition of each car by what was found up to ``on``; the number of queries does not grow with the cars."""
    defects = open_defects_of(car_ids, on)
    treads, uncovered = _unlawful_treads_of(car_ids, on), _without_tuition_cover(car_ids, on)
    return {
        car_id: NOTHING_WRONG._replace(
            defects=tuple(defects[car_id]),
            unlawful_treads=tuple(treads.get(car_id, ())),
            no_tuition_cover_on=uncovered.get(car_id),
        )
        for car_id in car_ids
    }


def open_defects_of(car_ids: Collection[int], on: date) -> dict[int, list[OpenDefect]]:
    """The defects of each car found by ``on`` that are not closed, oldest first."""
    rows = (
        Defect.objects.filter(car_id__in=car_ids, found_on__lte=on)
        .exclude(state=DefectState.CLOSED)
        .order_by("found_on", "pk")
    )
    found: dict[int, list[OpenDefect]] = defaultdict(list)
    for car_id, pk, severity, description, found_on in rows.values_list(
        "car_id", "pk", "severity", "description", "found_on"
    ):
        found[car_id].append(OpenDefect(pk, Severity(severity), description, found_on))
    return found


def treads_of(car_ids: Collection[int], on: date) -> dict[int, tuple[list[Depth], list[Move]]]:
    """Every tread reading and every move of a tyre of each car up to ``on``."""
    treads: dict[int, tuple[list[Depth], list[Move]]] = {car_id: ([], []) for car_id in car_ids}
    if not treads:
        return treads
    readings = TreadReading.objects.filter(car_id__in=car_ids, read_on__lte=on).order_by()
    fields = ("car_id", "wheel", "read_on", "inner", "centre", "outer")
    for car_id, wheel, read_on, inner, centre, outer in readings.values_list(*fields):
        treads[car_id][0].append(Depth(wheel, read_on, inner, centre, outer))
    moves = TyreMove.objects.filter(car_id__in=car_ids, moved_on__lte=on).order_by()
    for car_id, wheel, moved_on, came_from in moves.values_list("car_id", "wheel", "moved_on", "came_from"):
        treads[car_id][1].append(Move(wheel, moved_on, came_from))
    return treads


def _unlawful_treads_of(car_ids: Collection[int], on: date) -> dict[int, list[Depth]]:
    # Few readings ever are that low: only then is it worth asking which tyre each reading belongs to.
    is_low = Q(inner__lt=LEGAL_LEAST) | Q(centre__lt=LEGAL_LEAST) | Q(outer__lt=LEGAL_LEAST)
    low = TreadReading.objects.filter(is_low, car_id__in=car_ids, read_on__lte=on).order_by()
    suspects = set(low.values_list("car_id", flat=True))
    return {car_id: unlawful_wheels(*treads) for car_id, treads in treads_of(suspects, on).items()}


def least_treads_of(car_ids: Collection[int], on: date) -> dict[int, Decimal]:
    """The least tread in mm of each car, by the last reading of each tyre up to ``on``; a car without one is absent."""
    newest = Window(RowNumber(), partition_by=["car_id", "wheel"], order_by="-read_on")
    rows = TreadReading.objects.filter(car_id__in=car_ids, read_on__lte=on).order_by().annotate(newest=newest)
    fields = ("car_id", "wheel", "read_on", "inner", "centre", "outer")
    latest = {(row[0], row[1]): Depth(*row[1:]) for row in rows.filter(newest=1).values_list(*fields)}
    moves = TyreMove.objects.filter(car_id__in=car_ids, moved_on__lte=on).order_by().values_list("car_id", "wheel")
    moved = {
        car_id
        for car_id, wheel, moved_on in moves.annotate(last_on=Max("moved_on"))
        if (depth := latest.get((car_id, wheel))) is None or depth.read_on < moved_on
    }
    least: dict[int, Decimal] = {}
    for (car_id, _), depth in latest.items():
        if car_id not in moved:
            least[car_id] = min(depth.lowest, least.get(car_id, depth.lowest))
    # Few tyres were moved since they were last read: only then is it worth asking which tyre each reading belongs to.
    for car_id, treads in treads_of(moved, on).items():
        if found := [depth.lowest for depth in latest_depths(*treads)]:
            least[car_id] = min(found)
    return least


def _without_tuition_cover(car_ids: Collection[int], on: date) -> dict[int, date]:
    rows = Confirmation.objects.filter(car_id__in=car_ids, point=TUITION_COVER, confirmed_on__lte=on)
    fields = ("car_id", "is_met", "confirmed_on")
    latest = {car_id: (is_met, day) for car_id, is_met, day in rows.order_by("confirmed_on").values_list(*fields)}
    return {car_id: day for car_id, (is_met, day) in latest.items() if not is_met}


def tuition_cover_of(car: Car | None) -> Confirmation | None:
    """The latest answer to whether the policy of ``car`` covers driving tuition; None if nobody has checked."""
    return Confirmation.objects.filter(car=car, point=TUITION_COVER).order_by("-confirmed_on").first()


class TreadReport(NamedTuple):
    """The tyres of one car on one day: each wheel in the order of ``Wheel``, and the moves, latest first."""

    on: date
    wheels: tuple[Wear, ...]
    moves: tuple[Move, ...]

    @property
    def worst(self) -> Wear | None:
        """The tyre in the worst state, then with the least tread when last read; None if none was read."""
        order = list(TreadState)
        read = [(order.index(wear.state), wear.latest.lowest, wear) for wear in self.wheels if wear.latest]
        return min(read, key=lambda known: known[:2])[2] if read else None


def tread_report(car: Car, on: date) -> TreadReport:
    """The state of the tyres of ``car`` on ``on``, by the readings up to that day."""
    depths, moves = treads_of([car.pk], on)[car.pk]
    odometer = readings_of([car.pk])[car.pk].until(on)
    wheels = tuple(wear_of_tyre(wheel, depths, moves, odometer, on) for wheel in Wheel.values)
    return TreadReport(on, wheels, tuple(sorted(moves, key=lambda move: (move.moved_on, move.wheel), reverse=True)))
