"""What the book answers with: reports, the home page, the board, and a fill just logged.

Each is held against plain selects of the same rows, or against a bare view that does no more than that, or than one
INSERT, behind the same middleware. The selects are written by hand, one a table, so that they do not change when the
book's own queries do. They go through Django's cursor, as those of the book do, so that neither side has statements
prepared.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from math import inf
from typing import Any, cast

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.urls import include, path

from bench.book import (
    LAST,
    MILES_A_DAY,
    NEWEST,
    TEN_YEARS,
    TODAY,
    TYRE_MILES,
    at_noon,
    client_of,
    coordinator_client,
)
from bench.growth import close, leave_open
from bench.measuring import Figure, alternate, compared, ratio, statements
from costing.core.periods import months_ending, months_within
from costing.core.records import Period
from costing.report import car_reports
from costing.statement.report import statement
from fleet.models import Car
from instructors.models import Member

HOME, BOARD, FILL = "/", "/cars/", "/fills/new/"
BARE_HOME, BARE_BOARD, BARE_FILL = "/bare/", "/bare/cars/", "/bare/fills/new/"
#: How many times the work of a bare view the home page may take, and in how many statements.
MOST_FOR_HOME, MOST_STATEMENTS_OF_HOME = 3, 14
#: How many times the work of plain selects of the same rows a report of 12 months or a statement may take.
MOST_FOR_A_REPORT = 3

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
_GROUP = "SELECT * FROM costing_groupfigure WHERE month = ANY(%s)"

_CARS = """SELECT car.*, member.* FROM fleet_car car JOIN instructors_member member ON member.id = car.keeper_id
    WHERE car.id = ANY(%s)"""
_DUE = "SELECT * FROM fleet_dueitem WHERE (car_id = ANY(%s) OR member_id = ANY(%s)) AND closed_on IS NULL"
_DEFECTS = """SELECT car_id, id, severity, description, found_on FROM fleet_defect
    WHERE car_id = ANY(%s) AND state <> 'closed'"""
_WORN = 'SELECT car_id FROM fleet_treadreading WHERE car_id = ANY(%s) AND LEAST("inner", centre, "outer") < 1.6'
_CONFIRMED = "SELECT car_id, is_met, confirmed_on FROM fleet_confirmation WHERE car_id = ANY(%s)"
_CHECKED = "SELECT car_id, MAX(checked_on) FROM fleet_walkaroundcheck WHERE car_id = ANY(%s) GROUP BY car_id"
_LAST_FILLS = """SELECT car_id, MAX(filled_on), MAX(odometer) FROM costing_fill
    WHERE car_id = ANY(%s) AND voided_at IS NULL AND filled_on < %s GROUP BY car_id"""
_LAST_READINGS = """SELECT car_id, MAX(read_on), MAX(miles) FROM fleet_odometerreading
    WHERE car_id = ANY(%s) AND read_on < %s GROUP BY car_id"""
_INSERT = """INSERT INTO costing_fill (ref, car_id, member_id, created_at, filled_on, odometer, quantity, unit, amount,
    brimmed, gap_before, found_right) VALUES (%s, (SELECT id FROM fleet_car WHERE registration = %s), %s, now(), %s, %s,
    %s, 'litre', %s, %s, false, '')"""


def bare_home(request: HttpRequest) -> HttpResponse:
    """Fetch what the home page is made of, and make nothing of it."""
    member = cast(Member, request.user).pk
    with connection.cursor() as cursor:
        cursor.execute("SELECT id FROM fleet_car WHERE keeper_id = %s AND in_service_to IS NULL", [member])
        cars = [pk for (pk,) in cursor.fetchall()]
    rows = [*money_rows(cars, *_HOME_DAYS), *group_rows(_HOME_MONTHS), *due_rows(cars, [member])]
    return HttpResponse(f"{len(rows)} rows")


def bare_board(request: HttpRequest) -> HttpResponse:
    """Fetch what the board of all cars is made of, and make nothing of it."""
    return HttpResponse(f"{len(board_rows())} rows")


def bare_fill(request: HttpRequest) -> HttpResponse:
    """Write one fill as it is sent, and say no more than that."""
    told = request.POST
    numbers = (int(told["odometer"]), Decimal(told["quantity"]), Decimal(told["amount"]))
    values = (told["ref"], told["car"], request.user.pk, date.fromisoformat(told["filled_on"]), *numbers)
    with connection.cursor() as cursor:
        cursor.execute(_INSERT, [*values, told["brimmed"] == "on"])
    return HttpResponse("Logged")


urlpatterns = [
    path(BARE_HOME[1:], bare_home),
    path(BARE_BOARD[1:], bare_board),
    path(BARE_FILL[1:], bare_fill),
    path("", include("config.urls")),
]
#: The days that the home page tells of: the year that ends with the month closed last, and the days since.
_HOME_DAYS = (months_ending(NEWEST, 12).first, TODAY)
_HOME_MONTHS = [month.first for month in months_within(months_ending(NEWEST, 12))]


def report() -> Iterator[Figure]:
    """Twelve months of one car and of all cars, and all years of one car with its entries."""
    cars = list(Car.objects.select_related("keeper").order_by("pk"))
    year, ever = months_ending(NEWEST, 12), Period(TEN_YEARS.first, LAST)
    [car, *_] = cars
    one = _report("12-month report of one member", [car], year, lambda: _reported([car], year, car.keeper))
    every = _report(f"set of 12-month reports of {len(cars)} cars", cars, year, lambda: _reported(cars, year, None))
    yield from (one, every)
    yield _report("statement of a ten-year car", [car], ever, lambda: _stated(car, ever))


def _reported(cars: Sequence[Car], period: Period, member: Member | None) -> int:
    return min(of_period.cost.true_cost for [of_period] in car_reports([period], cars=cars, member=member))


def _stated(car: Car, period: Period) -> int:
    stated = statement(car.keeper, period, car=car)
    return stated.cost.true_cost if stated else 0


def _report(what: str, cars: Sequence[Car], period: Period, make: Callable[[], int]) -> Figure:
    ids = [car.pk for car in cars]

    def report() -> None:
        if not make():
            raise RuntimeError("nothing was worked out, so nothing is measured")

    def rows() -> int:
        return len(money_rows(ids, *period))

    work, base = alternate(report, rows)
    times = ratio(work, base)
    failure = f"the {what} takes {times:.1f} times plain selects of its rows, at most {MOST_FOR_A_REPORT} are allowed"
    words = compared(what, work, f"plain selects of the {rows():,} rows", base)
    return Figure(words, failure if times > MOST_FOR_A_REPORT else "")


def home() -> Iterator[Figure]:
    """A member's home page on the day on which October was closed."""
    leave_open(1, TEN_YEARS)
    with site_with_bare_views():
        close()
        client = client_of(Member.objects.order_by("pk")[0])
        yield _page("home page", client, HOME, BARE_HOME, most=MOST_FOR_HOME, most_statements=MOST_STATEMENTS_OF_HOME)


def board() -> Iterator[Figure]:
    """The board of all cars, as a coordinator sees it."""
    with site_with_bare_views():
        yield _page(f"board of {Car.objects.count()} cars", coordinator_client(), BOARD, BARE_BOARD)


@contextmanager
def site_with_bare_views() -> Iterator[None]:
    """The site with the bare views in it, at noon of the day on which everything is measured."""
    with at_noon(), override_settings(ROOT_URLCONF=__name__):
        yield


def _page(
    what: str, client: Client, address: str, bare: str, *, most: float = inf, most_statements: float = inf
) -> Figure:
    def get(asked: str) -> bytes:
        response = client.get(asked)
        if response.status_code != 200:
            raise RuntimeError(f"{asked} answers {response.status_code}, so nothing is measured")
        return response.content

    count = statements(lambda: get(address))
    work, base = alternate(lambda: get(address), lambda: get(bare))
    words = f"a bare view that selects its {get(bare).decode()}"
    times = ratio(work, base)
    failure = (
        f"the {what} takes {times:.1f} times a bare view in {count} statements, at most {most} in {most_statements}"
    )
    is_beyond = times > most or count > most_statements
    return Figure(compared(f"{what} in {count} statements", work, words, base), failure if is_beyond else "")


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


def group_rows(months: Sequence[date]) -> Rows:
    """What was kept of closed months and of the years that end with them."""
    return _select(_GROUP, months)


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
