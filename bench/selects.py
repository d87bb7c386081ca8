"""Plain selects of the rows that a report, the home page and the board are made of: the base they are held against.

They are written by hand, one a table, so that they do not change when the book's own queries do. They go through
Django's cursor, as those of the book do, so that neither side has statements prepared.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.db import connection

from bench.book import MILES_A_DAY, TODAY, TYRE_MILES

Rows = list[tuple[Any, ...]]

#: For so long what was bought by the mile is in use.
TYRE_DAYS = timedelta(days=TYRE_MILES // MILES_A_DAY + 1)
#: From readings of so long a car's daily miles are worked out.
PACE_DAYS = timedelta(days=90)

_COSTS = """SELECT car_id, paid_on, category, amount, covers_from, covers_to, covers_miles, ended_on
    FROM costing_costentry WHERE car_id = ANY(%s) AND voided_at IS NULL
    AND (paid_on BETWEEN %s AND %s OR covers_to >= %s OR (covers_miles IS NOT NULL AND paid_on >= %s))"""
_FILLS = """SELECT car_id, member_id, filled_on, odometer, quantity, unit, amount, brimmed, gap_before
    FROM costing_fill WHERE car_id = ANY(%s) AND voided_at IS NULL AND filled_on >= %s"""
_READINGS = "SELECT car_id, read_on, miles FROM fleet_odometerreading WHERE car_id = ANY(%s) AND read_on >= %s"
_LESSONS = """SELECT car_id, from_on, to_on, lesson_count, minutes, private_miles
    FROM costing_teachingrecord WHERE car_id = ANY(%s) AND voided_at IS NULL AND from_on <= %s AND to_on >= %s"""
_AGREEMENTS = """SELECT car_id, starts_on, kind, price, deposit, payment, payments, frequency, final_payment, fees
    FROM costing_agreement WHERE car_id = ANY(%s)"""
_VALUATIONS = "SELECT car_id, valued_on, value FROM costing_valuation WHERE car_id = ANY(%s)"
_SETTINGS = "SELECT * FROM instructors_cooperative"
_GROUP = "SELECT * FROM costing_groupfigure WHERE month = %s"

_CARS = """SELECT car.*, member.* FROM fleet_car car JOIN instructors_member member ON member.id = car.keeper_id
    WHERE car.id = ANY(%s)"""
_DUE = "SELECT * FROM fleet_dueitem WHERE (car_id = ANY(%s) OR member_id = ANY(%s)) AND closed_on IS NULL"
_DEFECTS = """SELECT car_id, id, severity, words, found_on FROM fleet_defect
    WHERE car_id = ANY(%s) AND state <> 'closed'"""
_WORN = 'SELECT car_id FROM fleet_treadreading WHERE car_id = ANY(%s) AND LEAST("inner", centre, "outer") < 1.6'
_CONFIRMED = "SELECT car_id, is_met, confirmed_on FROM fleet_confirmation WHERE car_id = ANY(%s)"
_CHECKED = "SELECT car_id, MAX(checked_on) FROM fleet_walkaroundcheck WHERE car_id = ANY(%s) GROUP BY car_id"
_LAST_FILLS = """SELECT car_id, MAX(filled_on), MAX(odometer) FROM costing_fill
    WHERE car_id = ANY(%s) AND voided_at IS NULL AND filled_on < %s GROUP BY car_id"""
_LAST_READINGS = """SELECT car_id, MAX(read_on), MAX(miles) FROM fleet_odometerreading
    WHERE car_id = ANY(%s) AND read_on < %s GROUP BY car_id"""


def money_rows(cars: Sequence[int], first: date, last: date) -> Rows:
    """What the true costs of cars over a period are made of, and the settings."""
    costs = _select(_COSTS, cars, first, last, first, first - TYRE_DAYS)
    by_miles = [paid_on for _, paid_on, *_, miles, _ in costs if miles]
    since = min([first, *by_miles]) - timedelta(days=1)
    return [
        *costs,
        *_select(_FILLS, cars, since),
        *_select(_READINGS, cars, since),
        *_select(_LESSONS, cars, last, first),
        *_select(_AGREEMENTS, cars),
        *_select(_VALUATIONS, cars),
        *_select(_SETTINGS),
    ]


def group_rows(month: date) -> Rows:
    """What was kept of a closed month and of the year that ends with it."""
    return _select(_GROUP, month)


def due_rows(cars: Sequence[int], members: Sequence[int]) -> Rows:
    """What falls due on cars and for members, with the condition and the miles that decide it."""
    since = TODAY - PACE_DAYS
    return [
        *_select(_CARS, cars),
        *_select(_DUE, cars, members),
        *_select(_DEFECTS, cars),
        *_select(_WORN, cars),
        *_select(_CONFIRMED, cars),
        *_select(_LAST_FILLS, cars, since),
        *_select(_FILLS, cars, since),
        *_select(_LAST_READINGS, cars, since),
        *_select(_READINGS, cars, since),
    ]


def board_rows() -> Rows:
    """What the board of all cars is made of."""
    members = _select("SELECT * FROM instructors_member WHERE left_on IS NULL")
    cars = [pk for (pk,) in _select("SELECT id FROM fleet_car WHERE in_service_to IS NULL")]
    return [*members, *due_rows(cars, [row[0] for row in members]), *_select(_CHECKED, cars)]


def _select(sql: str, *values: Any) -> Rows:
    with connection.cursor() as cursor:
        cursor.execute(sql, [list(value) if isinstance(value, Sequence) else value for value in values])
        return cursor.fetchall()
