"""What the book answers with: reports, the home page, the board, a fill just logged, and sheets to print.

Each is held against plain selects of the same rows; against a bare view that does no more than that, or than one
INSERT, behind the same middleware; or, for a sheet, against WeasyPrint's own time for the same HTML.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from decimal import Decimal
from typing import Any, cast
from unittest import mock
from uuid import uuid4

from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.urls import include, path, reverse

from bench.book import LAST, NEWEST, TEN_YEARS, TODAY, at_noon, client_of, coordinator_client
from bench.growth import close, leave_open
from bench.measuring import Call, Figure, alternate, compared, ratio, statements
from bench.offers import upload
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
#: A sheet of fifty cars takes a second: fewer rounds tell enough.
SHEET_ROUNDS = 5

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
    with _site_with_bare_views():
        close()
        yield _page("home page", client_of(Member.objects.order_by("pk")[0]), HOME, BARE_HOME)


def board() -> Iterator[Figure]:
    """The board of all cars, as a coordinator sees it."""
    with _site_with_bare_views():
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

    with _site_with_bare_views():
        count = statements(lambda: post(FILL))
        forget()
        work, base = alternate(lambda: post(FILL), lambda: post(BARE_FILL), between=forget)
    times = ratio(work, base)
    failure = f"a fill logged with htmx takes {times:.1f} times a bare INSERT, at most {MOST_FOR_A_FILL} are allowed"
    words = compared(f"fill logged with htmx in {count} statements", work, "a bare view with one INSERT", base)
    yield Figure(words, failure if times > MOST_FOR_A_FILL else "")


def paper() -> Iterator[Figure]:
    """The board of all cars, what a car must have for lessons, and the decision between six offers."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    with at_noon():
        member, coordinator = client_of(car.keeper), coordinator_client()
        ready = reverse("fleet:ready-sheet", args=[car.registration, "teach"])
        decision = reverse("costing:comparison-sheet", args=[upload(member)])
        yield _sheet("the board", coordinator, reverse("fleet:board-sheet"))
        yield _sheet("readiness of one car", member, ready)
        yield _sheet("the decision between six offers", member, decision)


def _sheet(what: str, client: Client, address: str) -> Figure:
    print_again = _printing_again(client, address)
    work, base = alternate(lambda: client.get(address), print_again, rounds=SHEET_ROUNDS)
    return Figure(compared(f"PDF of {what}", work, "WeasyPrint alone", base))


def _printing_again(client: Client, address: str) -> Call:
    """Ask for a sheet once; what is returned prints the same HTML in the same way with WeasyPrint alone."""
    # A machine may lack its libraries, and no other measure needs them.
    import weasyprint

    handed_over: list[tuple[dict[str, Any], dict[str, Any]]] = []

    class Listening(weasyprint.HTML):
        def __init__(self, **source: Any) -> None:
            super().__init__(**source)
            self.source = source

        def write_pdf(self, **options: Any) -> bytes:
            handed_over.append((self.source, options))
            return bytes(super().write_pdf(**options))

    with mock.patch.object(weasyprint, "HTML", Listening):
        client.get(address)
    [(source, options)] = handed_over
    return lambda: weasyprint.HTML(**source).write_pdf(**options)


@contextmanager
def _site_with_bare_views() -> Iterator[None]:
    """The site with the bare views in it, at noon of the day on which everything is measured."""
    with at_noon(), override_settings(ROOT_URLCONF=__name__):
        yield


def _page(what: str, client: Client, address: str, bare: str) -> Figure:
    def get(asked: str) -> bytes:
        response = client.get(asked)
        if response.status_code != 200:
            raise RuntimeError(f"{asked} answers {response.status_code}, so nothing is measured")
        return response.content

    count = statements(lambda: get(address))
    work, base = alternate(lambda: get(address), lambda: get(bare))
    words = f"a bare view that selects its {get(bare).decode()}"
    return Figure(compared(f"{what} in {count} statements", work, words, base))
