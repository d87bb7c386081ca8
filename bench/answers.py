"""What the book answers with: reports, the home page, the board, and a fill just logged.

Each is held against plain selects of the same rows, or against a bare view that does no more than that and, for a
fill, one INSERT. Both views stand behind the same middleware, and are asked in the same way.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import cast
from uuid import uuid4

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path

from bench.book import LAST, TEN_YEARS, TODAY, at_noon
from bench.closing import NEWEST, close, leave_open
from bench.measuring import Call, Figure, alternate, compared, ratio
from bench.selects import board_rows, due_rows, group_rows, money_rows
from costing.core.periods import months_ending
from costing.models import Fill
from costing.report import car_reports
from fleet.models import Car
from instructors.models import Member

HOME, BOARD, FILL = "/", "/cars/", "/fills/new/"
BARE_HOME, BARE_BOARD, BARE_FILL = "/bare/", "/bare/cars/", "/bare/fills/new/"
#: How many times the work of a bare INSERT the answer to a fill may take.
MOST_FOR_A_FILL = 4

_INSERT = """INSERT INTO costing_fill (ref, car_id, member_id, created_at, filled_on, odometer, quantity, unit, amount,
    brimmed, gap_before) VALUES (%s, (SELECT id FROM fleet_car WHERE registration = %s), %s, now(), %s, %s, %s, 'litre',
    %s, %s, false)"""


def bare_home(request: HttpRequest) -> HttpResponse:
    """Fetch what the home page is made of, and make nothing of it."""
    member = cast(Member, request.user).pk
    with connection.cursor() as cursor:
        cursor.execute("SELECT id FROM fleet_car WHERE keeper_id = %s AND in_service_to IS NULL", [member])
        cars = [pk for (pk,) in cursor.fetchall()]
    rows = [*money_rows(cars, *_HOME_DAYS), *group_rows(NEWEST), *due_rows(cars, [member])]
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
#: The days that the home page tells of: the month so far, the month closed last, and the year that ends with it.
_HOME_DAYS = (months_ending(NEWEST, 12).first, TODAY)


def report() -> Iterator[Figure]:
    """Twelve months of one car, and of all cars."""
    cars = list(Car.objects.select_related("keeper").order_by("pk"))
    yield _report("12-month report of one member", cars[:1], cars[0].keeper)
    yield _report(f"12-month reports of {len(cars)} cars", cars, None)


def _report(what: str, cars: Sequence[Car], member: Member | None) -> Figure:
    year, ids = months_ending(NEWEST, 12), [car.pk for car in cars]

    def reports() -> None:
        for [of_year] in car_reports([year], cars=cars, member=member):
            if not of_year.cost.true_cost:
                raise RuntimeError("nothing was worked out, so nothing is measured")

    def rows() -> int:
        return len(money_rows(ids, *year))

    work, base = alternate(reports, rows)
    return Figure(compared(what, work, f"plain selects of the {rows():,} rows", base))


def home() -> Iterator[Figure]:
    """A member's home page on the day on which October was closed."""
    leave_open(1, TEN_YEARS)
    with measured_site():
        close()
        yield _page("home page", client_of(Member.objects.order_by("pk")[0]), HOME, BARE_HOME)


def board() -> Iterator[Figure]:
    """The board of all cars, as a coordinator sees it."""
    with measured_site():
        yield _page(f"board of {Car.objects.count()} cars", coordinator_client(), BOARD, BARE_BOARD)


def log() -> Iterator[Figure]:
    """A fill logged with htmx, which is answered with what the log page then shows."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    client = client_of(car.keeper)

    def post(address: str) -> None:
        told = {
            "ref": uuid4(), "car": car.registration, "filled_on": TODAY, "odometer": TEN_YEARS.miles(TODAY),
            "quantity": "34.5", "amount": "47.92", "brimmed": "on",
        }  # fmt: skip
        response = client.post(address, told, headers={"HX-Request": "true"})
        if b"Logged" not in response.content:
            raise RuntimeError("nothing was logged, so nothing is measured")

    def forget() -> None:
        Fill.objects.filter(filled_on__gt=LAST).delete()
        Fill.history.filter(filled_on__gt=LAST).delete()

    with measured_site():
        queries = _queries(lambda: post(FILL))
        forget()
        work, base = alternate(lambda: post(FILL), lambda: post(BARE_FILL), between=forget)
    times = ratio(work, base)
    failure = f"a fill logged with htmx takes {times:.1f} times a bare INSERT, at most {MOST_FOR_A_FILL} are allowed"
    words = compared(f"fill logged with htmx in {queries} queries", work, "a bare view with one INSERT", base)
    yield Figure(words, failure if times > MOST_FOR_A_FILL else "")


@contextmanager
def measured_site() -> Iterator[None]:
    """The site with the bare views in it, at noon of the day on which everything is measured."""
    with at_noon(), override_settings(ROOT_URLCONF=__name__):
        yield


def client_of(member: Member) -> Client:
    """A browser in which the member has signed in."""
    client = Client(headers={"host": "localhost"})
    client.force_login(member)
    return client


def coordinator_client() -> Client:
    """A browser in which a coordinator without a car has signed in."""
    email = "coordinator@bench.example"
    found = Member.objects.filter(email=email).first()
    return client_of(found or Member.objects.create_superuser(email, name="Coordinator"))


def _page(what: str, client: Client, address: str, bare: str) -> Figure:
    def get(asked: str) -> bytes:
        response = client.get(asked)
        if response.status_code != 200:
            raise RuntimeError(f"{asked} answers {response.status_code}, so nothing is measured")
        return response.content

    queries = _queries(lambda: get(address))
    work, base = alternate(lambda: get(address), lambda: get(bare))
    words = f"a bare view that selects the same {get(bare).decode()}"
    return Figure(compared(f"{what} in {queries} queries", work, words, base))


def _queries(call: Call) -> int:
    """How many statements a request takes; the first after signing in takes more, and is not counted."""
    call()
    with CaptureQueriesContext(connection) as captured:
        call()
    return len(captured)
