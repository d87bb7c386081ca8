"""The condition of the cars, as far as it may keep them off the road, and how their tyres wear."""

from collections import defaultdict
from collections.abc import Collection, Sequence
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Case, CharField, DecimalField, Max, Q, QuerySet, Value, When, Window
from django.db.models.expressions import Combinable
from django.db.models.functions import RowNumber

from fleet.core.defects import OpenDefect, Severity
from fleet.core.readiness import NOTHING_WRONG, Condition
from fleet.core.tread import LEGAL_LEAST, Depth, Move, latest_depths, unlawful_wheels
from fleet.core.wear import TreadState, Wear, wear_of_tyre
from fleet.models import Car, Confirmation, Defect, DefectState, TreadReading, TyreMove, Wheel
from fleet.queries.miles import readings_of

#: The point of readiness that the insurance policy covers driving tuition.
TUITION_COVER = "tuition_insurance"


class _Found(NamedTuple):
    """One row of what may keep a car off the road, from whichever ``table``; ``about`` and the rest may be empty."""

    table: str
    car_id: int
    day: date
    name: str
    about: str
    key: int
    inner: Decimal
    centre: Decimal
    outer: Decimal


_DEFECT, _TREAD, _MOVE, _COVER = "defect", "tread", "move", "cover"
_COVERED, _NOT_COVERED = "yes", "no"


def conditions_of(car_ids: Collection[int], on: date) -> dict[int, Condition]:
    """The condition of each car by what was found up to ``on``, by one query however many cars there are."""
    found: dict[tuple[str, int], list[_Found]] = defaultdict(list)
    for row in _found(car_ids, on) if car_ids else ():
        found[row.table, row.car_id].append(row)
    return {car_id: _condition(*(found[table, car_id] for table in _TABLES)) for car_id in car_ids}


_TABLES = (_DEFECT, _TREAD, _MOVE, _COVER)


def _condition(defects: list[_Found], treads: list[_Found], moves: list[_Found], answers: list[_Found]) -> Condition:
    depths = [Depth(row.name, row.day, row.inner, row.centre, row.outer) for row in treads]
    return NOTHING_WRONG._replace(
        defects=tuple(OpenDefect(row.key, Severity(row.name), row.about, row.day) for row in defects),
        unlawful_treads=tuple(unlawful_wheels(depths, [Move(row.name, row.day, row.about) for row in moves])),
        no_tuition_cover_on=next((row.day for row in answers[-1:] if row.name == _NOT_COVERED), None),
    )


def _found(car_ids: Collection[int], on: date) -> list[_Found]:
    """Return open defects, tyres of cars that ever had too little tread, and answers about tuition cover, by day.

    It is one query because every page asks it, to say which cars must not be used.
    """
    treads = TreadReading.objects.filter(car_id__in=car_ids, read_on__lte=on)
    # Few readings ever are that low: only then is it worth asking which tyre each reading belongs to.
    is_low = Q(inner__lt=LEGAL_LEAST) | Q(centre__lt=LEGAL_LEAST) | Q(outer__lt=LEGAL_LEAST)
    of_suspects = Q(car_id__in=treads.filter(is_low).order_by().values("car_id"))
    moves = TyreMove.objects.filter(car_id__in=car_ids, moved_on__lte=on)
    defects = Defect.objects.filter(car_id__in=car_ids, found_on__lte=on).exclude(state=DefectState.CLOSED)
    answers = Confirmation.objects.filter(car_id__in=car_ids, point=TUITION_COVER, confirmed_on__lte=on)
    answer = Case(When(is_met=True, then=Value(_COVERED)), default=Value(_NOT_COVERED), output_field=CharField())
    first, *others = (
        _rows(_TREAD, treads.filter(of_suspects), "read_on", "wheel", depths=["inner", "centre", "outer"]),
        _rows(_MOVE, moves.filter(of_suspects), "moved_on", "wheel", about="came_from"),
        _rows(_DEFECT, defects, "found_on", "severity", about="description"),
        _rows(_COVER, answers, "confirmed_on", answer),
    )
    # The database is not asked to sort them: there are few, and tables of a union have no column of one name.
    return sorted((_Found(*row) for row in first.union(*others, all=True)), key=lambda row: (row.day, row.key))


_NOTHING = Value("", CharField())
_NO_DEPTHS = [Value(Decimal(0), DecimalField(max_digits=3, decimal_places=1))] * 3


def _rows(
    table: str,
    rows: QuerySet,
    day: str,
    name: str | Combinable,
    *,
    about: str | Combinable = _NOTHING,
    depths: Sequence[str | Combinable] = _NO_DEPTHS,
) -> QuerySet:
    """Return rows of one table with the columns of `_Found`."""
    return rows.order_by().values_list(Value(table, CharField()), "car_id", day, name, about, "pk", *depths)


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
