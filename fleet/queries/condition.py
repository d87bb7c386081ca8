"""The condition of the cars, as far as it may keep them off the road, and how their tyres wear."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from django.db.models import Max, Value, Window
from django.db.models.functions import RowNumber

from config.sql import day_of, listed, rows
from fleet.core.cover import (
    Holder,
    PolicyAnswer,
    TaxPaid,
    Time,
    holder_on,
    no_tuition_since,
    tax_doubt,
    tuition_doubt,
)
from fleet.core.defects import OpenDefect, PutRight, Severity
from fleet.core.due_kinds import BY_GRAVITY, DUE_KINDS
from fleet.core.odometer import Odometer
from fleet.core.readiness import NOTHING_WRONG, Condition
from fleet.core.requirements import TUITION_COVER
from fleet.core.tread import LEGAL_LEAST, Depth, Move, latest_depths, unlawful_wheels
from fleet.core.wear import TreadState, Wear, wear_of_tyre
from fleet.costs import cost_book
from fleet.models import Car, Confirmation, DefectState, TreadReading, TyreMove, Wheel
from fleet.queries.miles import readings_of
from instructors.queries import members_with_ids

#: The kinds of cover that stop a car, gravest first.
_INSURANCE, _TAX = (kind.name for kind in BY_GRAVITY if kind.stops_car and kind.is_cover)


class _Found(NamedTuple):
    """One row of what may keep a car off the road, from whichever ``table``; of some, ``about`` or depths are empty.

    ``by`` is a member's id, 0 where nobody is named.
    """

    table: str
    car_id: int
    day: date
    name: str
    about: str
    key: int
    by: int
    inner: Decimal
    centre: Decimal
    outer: Decimal


def conditions_of(cars: Collection[Car], on: date, *, with_treads: bool = False) -> dict[int, Condition]:
    """The condition of each car by what was found up to ``on``, by one query however many cars there are.

    Only ``with_treads`` it says when the treads were read.

    Of cars that were handed over it may take two more: for former keepers' grades, and for tax paid as a cost.
    """
    found: _ByTable = defaultdict(list)
    for row in _found([car.pk for car in cars], on, with_treads=with_treads) if cars else ():
        found[row.table, row.car_id].append(row)
    keepings = _keepings(cars, found, on)
    taxed = _taxed(keepings, found, on)
    return {car.pk: _condition(car.pk, found, keepings[car.pk], taxed[car.pk]) for car in cars}


_ByTable = dict[tuple[str, int], list[_Found]]


def _keepings(cars: Collection[Car], found: _ByTable, on: date) -> dict[int, Holder]:
    """Who keeps each car on ``on``."""
    grades = {car.keeper.pk: car.keeper.grade for car in cars}
    times = {car.pk: [Time(row.day, row.by) for row in found["keeper", car.pk]] for car in cars}
    others = {time.keeper for of_car in times.values() for time in of_car} - grades.keys()
    grades |= {member.pk: member.grade for member in (members_with_ids(others) if others else ())}
    return {
        car.pk: holder_on(
            times[car.pk],
            on,
            Holder(car.keeper.pk, car.keeper.grade, registered=car.registered_keeper_id),
            grades,
        )
        for car in cars
    }


def _taxed(keepings: Mapping[int, Holder], found: _ByTable, on: date) -> dict[int, list[TaxPaid]]:
    """The days on which each car was taxed, of cars in doubt those too on which that was only logged as a cost."""
    taxed = {car_id: [TaxPaid(row.day, row.by or None) for row in found["taxed", car_id]] for car_id in keepings}
    in_doubt = [car_id for car_id, keeping in keepings.items() if tax_doubt(taxed[car_id], keeping)]
    if in_doubt:
        category = DUE_KINDS[_TAX].cost_category
        for car_id, day, member_id in cost_book().paid_on(car_ids=in_doubt, category=category, until=on):
            taxed[car_id].append(TaxPaid(day, member_id))
    return taxed


def _condition(car_id: int, found: _ByTable, keeping: Holder, taxed: list[TaxPaid]) -> Condition:
    put_right = {row.key: PutRight(row.about, row.day) for row in found["waiting", car_id]}
    depths = [Depth(row.name, row.day, row.inner, row.centre, row.outer) for row in found["tread", car_id]]
    moves = [Move(row.name, row.day, row.about) for row in found["move", car_id]]
    policy = [PolicyAnswer(row.day, row.name == "yes", row.about, row.by or None) for row in found["cover", car_id]]
    doubts = {_INSURANCE: tuition_doubt(policy, keeping), _TAX: tax_doubt(taxed, keeping)}
    return NOTHING_WRONG._replace(
        defects=tuple(
            OpenDefect(row.key, Severity(row.name), row.about, row.day, put_right.get(row.key))
            for row in found["defect", car_id]
        ),
        unlawful_treads=tuple(unlawful_wheels(depths, moves)),
        no_tuition_cover_on=no_tuition_since(policy, keeping),
        doubts={kind: doubt for kind, doubt in doubts.items() if doubt},
        tread_read_on=_left_longest(found["read", car_id], found["fitted", car_id]),
    )


def _left_longest(read: Iterable[_Found], fitted: Iterable[_Found]) -> date | None:
    """The day on which the wheel that was left longest was last read, or got a new tyre; None if none was read."""
    lasts = {row.name: row.day for row in read}
    if not lasts:
        return None
    for row in fitted:
        lasts[row.name] = max(row.day, lasts.get(row.name, row.day))
    return min(lasts.values())


#: Open defects (with what was said of those that wait for a second member), the tyres of cars that ever had too little
#: tread, the answers about tuition cover, when the car was taxed, and who kept it from when, by day. Few readings ever
#: are that low: only then is it worth asking which tyre each reading belongs to. It is SQL, and one query, because
#: every page asks it and the mapper takes ten times as long to write it.
_FOUND = """
WITH suspects AS (
    SELECT car_id FROM fleet_treadreading
    WHERE car_id IN ({ids}) AND read_on <= %s AND ("inner" < %s OR centre < %s OR "outer" < %s)
)
SELECT 'tread', car_id, read_on AS day, wheel, '', id AS key, 0, "inner", centre, "outer" FROM fleet_treadreading
WHERE read_on <= %s AND car_id IN (SELECT car_id FROM suspects)
UNION ALL SELECT 'move', car_id, moved_on, wheel, came_from, id, 0, 0, 0, 0 FROM fleet_tyremove
WHERE moved_on <= %s AND car_id IN (SELECT car_id FROM suspects)
UNION ALL SELECT 'defect', car_id, found_on, severity, description, id, 0, 0, 0, 0 FROM fleet_defect
WHERE car_id IN ({ids}) AND found_on <= %s AND state <> %s
UNION ALL SELECT 'cover', car_id, confirmed_on, CASE WHEN is_met THEN 'yes' ELSE 'no' END, grade, id,
COALESCE(by_id, 0), 0, 0, 0 FROM fleet_confirmation WHERE car_id IN ({ids}) AND point = %s AND confirmed_on <= %s
UNION ALL SELECT 'taxed', item.car_id, done_on, '', '', done.id, recorded_by_id, 0, 0, 0
FROM fleet_completion done JOIN fleet_dueitem item ON item.id = done.due_item_id
WHERE item.car_id IN ({ids}) AND item.kind = %s AND done_on <= %s AND voided_at IS NULL
UNION ALL SELECT 'keeper', car_id, from_on, '', '', id, keeper_id, 0, 0, 0 FROM fleet_keepertime
WHERE car_id IN ({ids})
UNION ALL SELECT 'waiting', car_id, step.happened_on, '', step.done_by, defect.id, 0, 0, 0, 0
FROM fleet_defect AS defect JOIN fleet_defectstep AS step ON step.id = (
    SELECT MAX(last.id) FROM fleet_defectstep AS last WHERE last.defect_id = defect.id
) WHERE car_id IN ({ids}) AND defect.state = %s"""
#: When each wheel was last read, and when it last got a new tyre.
_TREADS = """
UNION ALL SELECT 'read', car_id, MAX(read_on), wheel, '', 0, 0, 0, 0, 0 FROM fleet_treadreading
WHERE car_id IN ({ids}) AND read_on <= %s GROUP BY car_id, wheel
UNION ALL SELECT 'fitted', car_id, MAX(moved_on), wheel, '', 0, 0, 0, 0, 0 FROM fleet_tyremove
WHERE car_id IN ({ids}) AND moved_on <= %s AND came_from = '' GROUP BY car_id, wheel"""
_IN_ORDER = """
ORDER BY day, key"""


def _found(ids: list[int], on: date, *, with_treads: bool) -> list[_Found]:
    worn: list[date | Decimal | str] = [on, *[LEGAL_LEAST] * 3, on, on]
    asked = [*worn, on, DefectState.CLOSED.value, TUITION_COVER, on, _TAX, on, DefectState.WAITING.value]
    if with_treads:
        asked += [on, on]
    sql = f"{_FOUND}{_TREADS if with_treads else ''}{_IN_ORDER}"
    return [
        _Found(table, car_id, day_of(day), name, about, key, by, *(Decimal(str(depth)) for depth in depths))
        for table, car_id, day, name, about, key, by, *depths in rows(sql.format(ids=listed(ids)), *asked)
    ]


def treads_of(car_ids: Collection[int], on: date) -> dict[int, tuple[list[Depth], list[Move]]]:
    """Every tread reading and every move of a tyre of each car up to ``on``."""
    treads: dict[int, tuple[list[Depth], list[Move]]] = {car_id: ([], []) for car_id in car_ids}
    if not treads:
        return treads
    readings = TreadReading.objects.filter(car_id__in=car_ids, read_on__lte=on).order_by()
    moves = TyreMove.objects.filter(car_id__in=car_ids, moved_on__lte=on).order_by()
    fields = ("car_id", "wheel", "read_on", "inner", "centre", "outer")
    # A move has no depths; its nought millimetres only fill the columns.
    nought = Value(Decimal(0), output_field=TreadReading._meta.get_field("inner"))
    of_moves = moves.values_list("car_id", "wheel", "moved_on", nought, nought, nought, "came_from", Value(1))
    rows = readings.values_list(*fields, Value(""), Value(0)).union(of_moves, all=True)
    for car_id, wheel, day, inner, centre, outer, came_from, is_move in rows:
        if is_move:
            treads[car_id][1].append(Move(wheel, day, came_from))
        else:
            treads[car_id][0].append(Depth(wheel, day, inner, centre, outer))
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


def tuition_cover_of(car: Car, on: date) -> Confirmation | None:
    """The latest answer to whether the policy of ``car`` covers tuition by its keeper; None if that is not known."""
    if _INSURANCE in conditions_of([car], on)[car.pk].doubts:
        return None
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
    return tread_reports([car], on)[car.pk]


def tread_reports(
    cars: Collection[Car], on: date, odometers: Mapping[int, Odometer] | None = None
) -> dict[int, TreadReport]:
    """The state of the tyres of each car on ``on``; ``odometers`` by car id spare asking for the readings."""
    ids = [car.pk for car in cars]
    treads, known = treads_of(ids, on), readings_of(ids) if odometers is None else odometers
    return {car_id: _tread_report(*treads[car_id], known[car_id].until(on), on) for car_id in ids}


def _tread_report(depths: list[Depth], moves: list[Move], odometer: Odometer, on: date) -> TreadReport:
    wheels = tuple(wear_of_tyre(wheel, depths, moves, odometer, on) for wheel in Wheel.values)
    return TreadReport(on, wheels, tuple(sorted(moves, key=lambda move: (move.moved_on, move.wheel), reverse=True)))
