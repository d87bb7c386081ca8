"""A car's book for the costing core: plain records, from no more days than a period needs."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import date

from django.utils import timezone

from costing.core import records
from costing.core.periods import ONE_DAY
from costing.queries.book_rows import Record, Row, costs_of, fills_of, holdings_of, readings_beside, teaching_of
from fleet.models import Car
from fleet.queries import Keepership, keeperships_of_cars, recorded_readings
from instructors.models import Member

#: By car id, the members whose books of it are wanted; None stands for everybody's records together.
Wanted = Mapping[int, Collection[int | None]]
#: By member id, the cars for which the member's own book is wanted.
CarsOf = Mapping[int | None, Collection[Car]]
#: By car id, who kept it from when to when, each time cut to the days on which its keeper was a member.
Times = Mapping[int, Collection[Keepership]]
_Books = dict[tuple[int, int | None], list[Record]]


def car_books(
    cars: Collection[Car], period: records.Period, *, member: Member | None = None, times: Times | None = None
) -> dict[int, records.CarBook]:
    """Return each car's book with all that affects ``period``, by car id, by six queries however many cars there are.

    ``times`` say who kept which car, if that was asked for already: it saves a query.

    With ``member``, it is that member's own book: it holds only that member's money, agreements, valuations and
    teaching. Somebody else's fill still bounds the days of the next one, but costs nothing and breaks the chain from
    brim to brim.
    """
    whose = member.pk if member else None
    return books_of_members({whose: cars}, period, times)[whose]


def books_of_members(
    cars: CarsOf, period: records.Period, times: Times | None = None
) -> dict[int | None, dict[int, records.CarBook]]:
    """Return the `car_books` of each member and their ``cars``, by member id and car id; six queries in all."""
    wanted: dict[int, list[int | None]] = defaultdict(list)
    for whose, of_one in cars.items():
        for car in of_one:
            wanted[car.pk].append(whose)
    members = [whose for whose in cars if whose is not None]
    keepings = _keepings(keeperships_of_cars(wanted, of_members=True) if times is None else times)
    turning = set() if None in cars else _turning(cars, keepings, period)
    costs = _grouped(costs_of(wanted, period, None if None in cars else members, turning), wanted)
    since = None if turning else period.first - ONE_DAY
    fills = _own_fills(fills_of(wanted, since), wanted)
    readings = _readings(wanted, since, [cost for own in costs.values() for cost in own if cost.covers_miles])
    keepers = {one.keeper for times in keepings.values() for one in times} if None in cars else set()
    every_record = list(teaching_of(wanted, keepers.union(members), period.first))
    teaching = _grouped((row for row in every_record if row[0] in wanted and _touches(row[2], period)), wanted)
    logged = _logged(every_record)
    holdings = _grouped(holdings_of(wanted), wanted)
    today = timezone.localdate()
    return {
        whose: {
            car.pk: records.CarBook(
                service=records.Service(car.in_service_from, car.in_service_to),
                readings=tuple(readings[car.pk]),
                costs=tuple(costs[car.pk, whose]),
                fills=tuple(fills[car.pk, whose]),
                teaching=tuple(teaching[car.pk, whose]),
                agreements=tuple(_of_one_kind(holdings[car.pk, whose], records.Agreement)),
                valuations=tuple(_of_one_kind(holdings[car.pk, whose], records.Valuation)),
                keepings=keepings[car.pk],
                logged=tuple(span for keeper in _whose(whose, keepings[car.pk]) for span in logged[keeper]),
                whose=whose,
                as_of=today,
            )
            for car in of_one
        }
        for whose, of_one in cars.items()
    }


def _readings(
    cars: Collection[int], since: date | None, by_miles: Collection[records.Cost]
) -> Mapping[int, list[records.Reading]]:
    """Return what is read of each car's miles from ``since`` on, and on the days when something was bought by the mile.

    Without ``since``, all that was ever read. Fills from ``since`` on are readings too, and are left out here.
    """
    readings: dict[int, list[records.Reading]] = defaultdict(list)
    first = None if since is None else min([since, *(cost.paid_on for cost in by_miles)])
    for car_id, read_on, miles in recorded_readings(cars, first):
        readings[car_id].append(records.Reading(read_on, miles))
    if since is not None:
        bought = [cost.key for cost in by_miles if cost.key is not None and cost.paid_on < since]
        for car_id, reading in readings_beside(bought, since):
            readings[car_id].append(reading)
    return readings


def _turning(cars: CarsOf, keepings: Mapping[int, Iterable[records.Keeping]], period: records.Period) -> set[int]:
    """Return the cars with which a time begins or ends in ``period``.

    There, what was paid on other days counts too: before a time on its first day, after the last one on its last day.
    """
    ends = {car.pk: [car.in_service_from, car.in_service_to] for of_one in cars.values() for car in of_one}
    for car_id, bounds in ends.items():
        bounds += [day for one in keepings[car_id] for day in (one.first, one.last)]
    return {car_id for car_id, bounds in ends.items() if any(day and _holds(period, day) for day in bounds)}


def _holds(period: records.Period, day: date) -> bool:
    return period.first <= day <= period.last


def _whose(whose: int | None, keepings: Iterable[records.Keeping]) -> Collection[int]:
    """Return whose lessons tell how far a book is known: the member's or, of the car's own book, its keepers'."""
    return {one.keeper for one in keepings} if whose is None else {whose}


def _touches(record: records.Teaching, period: records.Period) -> bool:
    return record.from_on <= period.last and record.to_on >= period.first


def _keepings(times: Times) -> dict[int, tuple[records.Keeping, ...]]:
    return {
        car_id: tuple(records.Keeping(one.keeper_id, one.first or date.min, one.last) for one in of_car)
        for car_id, of_car in times.items()
    }


def _logged(rows: Iterable[Row[records.Teaching]]) -> Mapping[int | None, list[records.Logged]]:
    """Return the days of each member's teaching records, in whichever car."""
    found: dict[int | None, list[records.Logged]] = defaultdict(list)
    for car_id, member_id, record in rows:
        minutes = 0 if record.lessons == 0 else record.minutes
        found[member_id].append(records.Logged(member_id, record.from_on, record.to_on, car_id, minutes))
    return found


def _grouped(rows: Iterable[Row[Record]], wanted: Wanted) -> _Books[Record]:
    """Return the records of each wanted book."""
    grouped: _Books[Record] = defaultdict(list)
    for car_id, member_id, record in rows:
        for whose in wanted[car_id]:
            if whose is None or whose == member_id:
                grouped[car_id, whose].append(record)
    return grouped


def _own_fills(rows: Iterable[Row[records.Fill]], wanted: Wanted) -> _Books[records.Fill]:
    """Return the fills of each wanted book, with other members' fills stripped of their details.

    The day of somebody else's fill ends the days that the fill before it covers. How much went in is private, so no
    stretch from brim to brim begins with it, ends with it or runs over it.
    """
    grouped: _Books[records.Fill] = defaultdict(list)
    for car_id, member_id, fill in rows:
        for whose in wanted[car_id]:
            if whose is None or whose == member_id:
                grouped[car_id, whose].append(fill)
            else:
                bare = fill._replace(thousandths=0, pence=0, brimmed=False, key=None)
                blank = bare._replace(gap_before=True, is_anothers=True)
                grouped[car_id, whose].append(blank)
    return grouped


def _of_one_kind(rows: Iterable[tuple], kind: type[Record]) -> list[Record]:
    """Return those of ``rows`` that are records of one kind."""
    return [row for row in rows if isinstance(row, kind)]
