"""The rows of a book, each as a record of the core with its car and its member.

They are asked for in plain SQL (`config.sql`), because every report asks. Money comes as whole pence and quantities as
whole thousandths, so that no row is reckoned with twice.
"""

from collections.abc import Collection, Iterator, Mapping
from datetime import date
from typing import TypeVar

from config.sql import listed, rows
from costing.core import records
from costing.models import FillUnit

Record = TypeVar("Record")
#: A car's id, a member's id, and that member's record of the car.
Row = tuple[int, int, Record]

#: Whether something bought by the mile is certainly used up by a day: the last fill before that day shows that many
#: miles more than the first one after it was paid, and an odometer never falls. Those bought by the mile are looked out
#: first, because the planner would otherwise think that it must ask this of every cost.
_BY_MILES = """WITH by_miles AS MATERIALIZED (
    SELECT id, car_id, paid_on, covers_miles FROM costing_costentry
    WHERE voided_at IS NULL AND covers_miles IS NOT NULL AND car_id IN ({cars})
) """
_COSTS = """SELECT car_id, member_id, paid_on, category, CAST(ROUND(amount * 100) AS INTEGER), covers_from, covers_to,
    covers_miles, ended_on, id
FROM costing_costentry
WHERE voided_at IS NULL AND car_id IN ({cars}) AND {of_members}"""
_THAT_MAY_COUNT = """ AND (
    paid_on BETWEEN %s AND %s OR covers_to >= %s OR car_id IN ({turning}) OR id IN (
        SELECT id FROM by_miles WHERE COALESCE((
            SELECT late.odometer FROM costing_fill late WHERE late.car_id = by_miles.car_id
            AND late.voided_at IS NULL AND late.filled_on < %s ORDER BY late.filled_on DESC LIMIT 1
        ) < by_miles.covers_miles + (
            SELECT early.odometer FROM costing_fill early WHERE early.car_id = by_miles.car_id
            AND early.voided_at IS NULL AND early.filled_on > by_miles.paid_on
            ORDER BY early.filled_on LIMIT 1
        ), TRUE)
    )
)"""


def costs_of(
    cars: Collection[int], period: records.Period, members: Collection[int] | None, turning: Collection[int]
) -> Iterator[Row[records.Cost]]:
    """Yield the costs that were paid in ``period`` or of which it may use a part, and all of the cars ``turning``.

    With ``members``, only theirs.
    """
    of_members = "TRUE" if members is None else f"member_id IN ({listed(members)})"
    sql, known = _COSTS.format(cars=listed(cars), of_members=of_members), []
    if not set(cars) <= set(turning):
        sql = _BY_MILES.format(cars=listed(cars)) + sql + _THAT_MAY_COUNT.format(turning=listed(turning))
        known = [*period, period.first, period.first]
    for car_id, member_id, *cost in rows(sql, *known):
        yield car_id, member_id, records.Cost._make(cost)


#: Of each book that is wanted, the day from which fills of one unit are needed: that of the last brim by some day,
#: where economy starts, or else of the last fill. Number 0 stands for anybody. Units are written out, so that the
#: planner knows which of them are rare and looks them up by the index.
_NEEDED_FROM = """SELECT COALESCE((
    SELECT MAX(brim.filled_on) FROM costing_fill brim WHERE brim.car_id = wanted.car_id AND brim.unit = '{unit}'
    AND wanted.member_id IN (0, brim.member_id) AND brim.filled_on <= %s AND brim.voided_at IS NULL AND brim.brimmed
), (
    SELECT MAX(late.filled_on) FROM costing_fill late WHERE late.car_id = wanted.car_id AND late.unit = '{unit}'
    AND wanted.member_id IN (0, late.member_id) AND late.filled_on <= %s AND late.voided_at IS NULL
)) AS day FROM wanted"""
_WANTED = "WITH wanted (car_id, member_id) AS (VALUES {wanted}) "
_FILL = """SELECT car_id, member_id, filled_on, odometer, CAST(ROUND(quantity * 1000) AS INTEGER), unit,
    CAST(ROUND(amount * 100) AS INTEGER), brimmed, gap_before, FALSE, id"""
_FILLS = f"{_FILL} FROM costing_fill WHERE voided_at IS NULL AND car_id IN ({{cars}})"
_FILLS_SINCE = """ AND filled_on >= COALESCE((
    SELECT MIN(day) FROM ({needed_from}) needed
), %s)"""


def fills_of(cars: Mapping[int, Collection[int | None]], since: date | None) -> Iterator[Row[records.Fill]]:
    """Yield the fills that are needed to know the miles and fuel from ``since`` on; None for all that there are.

    ``cars`` name the members whose own book is wanted; None stands for everybody's. Fills after the period are read to
    the end: the first one after it says what happened inside, and few follow.
    """
    if not cars:
        return
    sql, known = _FILLS.format(cars=listed(cars)), []
    if since is not None:
        pairs = {(car_id, whose or 0) for car_id, members in cars.items() for whose in [None, *members]}
        wanted = ", ".join(f"({int(car_id)}, {int(whose)})" for car_id, whose in pairs)
        needed_from = " UNION ALL ".join(_NEEDED_FROM.format(unit=unit) for unit in FillUnit)
        sql = _WANTED.format(wanted=wanted) + sql + _FILLS_SINCE.format(needed_from=needed_from)
        known = [since] * 5
    for car_id, member_id, *fill in rows(sql, *known):
        yield car_id, member_id, records.Fill._make(fill)


#: They are looked out first, because PostgreSQL would else work figures out for every fill that it sorts.
_LAST_FILLS = f"""{_FILL} FROM (
    SELECT * FROM costing_fill WHERE voided_at IS NULL AND car_id = %s AND member_id = %s AND id <> %s
    ORDER BY filled_on DESC, id DESC LIMIT %s
) last"""  # noqa: S608 - of our own words


def last_fills(car_id: int, member_id: int, most: int, ignoring: int) -> list[records.Fill]:
    """Return a member's last fills of a car, at most so many, without the one whose id is ``ignoring``."""
    found = rows(_LAST_FILLS, car_id, member_id, ignoring, most)
    return [records.Fill._make(fill) for _, _, *fill in found]


#: The fills next to the day on which something was paid: the last by then and the first after it.
_BESIDE = """SELECT beside.car_id, beside.filled_on, beside.odometer
FROM costing_costentry cost JOIN costing_fill beside ON beside.id IN ((
    SELECT before.id FROM costing_fill before WHERE before.car_id = cost.car_id
    AND before.voided_at IS NULL AND before.filled_on <= cost.paid_on
    ORDER BY before.filled_on DESC, before.odometer DESC LIMIT 1
), (
    SELECT later.id FROM costing_fill later WHERE later.car_id = cost.car_id
    AND later.voided_at IS NULL AND later.filled_on > cost.paid_on
    ORDER BY later.filled_on, later.odometer DESC LIMIT 1
))
WHERE cost.id IN ({costs}) AND beside.filled_on < %s"""


def readings_beside(costs: Collection[int], since: date) -> Iterator[tuple[int, records.Reading]]:
    """Yield what fills before ``since`` show of the miles on the days on which these costs were paid, by car id."""
    for car_id, filled_on, miles in rows(_BESIDE.format(costs=listed(costs)), since) if costs else ():
        yield car_id, records.Reading(filled_on, miles)


#: Each member's records from the last one on that ended before a day.
_TEACHING = """WITH members (id) AS (VALUES {each_member})
SELECT car_id, member_id, from_on, to_on, lesson_count, minutes, private_miles, member_id, id
FROM costing_teachingrecord
WHERE voided_at IS NULL AND (car_id IN ({cars}) OR member_id IN ({members})) AND to_on >= COALESCE((
    SELECT MIN(lasts.day) FROM (
        SELECT (
            SELECT MAX(before.to_on) FROM costing_teachingrecord before
            WHERE before.member_id = members.id AND before.voided_at IS NULL AND before.to_on < %s
        ) AS day FROM members
    ) lasts
), %s)"""


def teaching_of(cars: Collection[int], members: Collection[int], since: date) -> Iterator[Row[records.Teaching]]:
    """Yield the teaching records of the cars from ``since`` on, and those of the members in whichever car.

    Of each member the last one before is among them, which says that there is no gap.
    """
    each_member = ", ".join(f"({int(member)})" for member in members) or "(0)"
    sql = _TEACHING.format(cars=listed(cars), members=listed(members), each_member=each_member)
    for car_id, member_id, *record in rows(sql, since, since):
        yield car_id, member_id, records.Teaching._make(record)


#: A valuation is the row without a kind.
_HOLDINGS = """SELECT car_id, member_id, starts_on, kind, CAST(ROUND(price * 100) AS INTEGER),
    CAST(ROUND(COALESCE(deposit, 0) * 100) AS INTEGER), CAST(ROUND(COALESCE(payment, 0) * 100) AS INTEGER),
    COALESCE(payments, 0), CASE WHEN frequency = 'week' THEN 'week' ELSE 'month' END,
    CAST(ROUND(COALESCE(final_payment, 0) * 100) AS INTEGER), CAST(ROUND(COALESCE(fees, 0) * 100) AS INTEGER)
FROM costing_agreement WHERE car_id IN ({cars})
UNION ALL
SELECT car_id, member_id, valued_on, '', CAST(ROUND(value * 100) AS INTEGER), 0, 0, 0, '', 0, 0
FROM costing_valuation WHERE car_id IN ({cars})"""


def holdings_of(cars: Collection[int]) -> Iterator[Row[records.Agreement | records.Valuation]]:
    """Yield each car's agreements and valuations, of whoever recorded them.

    Of those only the ones count on whose day they kept the car. Who kept it is not enough: a coordinator who takes a
    car over from a day long past would read what the former keeper pays and what the car was worth.
    """
    for car_id, member_id, day, kind, price, *terms in rows(_HOLDINGS.format(cars=listed(cars))):
        held = records.Agreement(day, kind, price, *terms) if kind else records.Valuation(day, price)
        yield car_id, member_id, held
