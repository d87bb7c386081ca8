"""The board of all cars, against a bare Django view that fetches the same rows."""

from collections.abc import Callable
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import time_machine
from django.db import connection
from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.test import Client, override_settings
from django.test.utils import CaptureQueriesContext
from django.urls import include, path

from bench.book import LAST
from costing.models import Fill
from fleet.models import Car, Confirmation, Defect, DueItem, OdometerReading, TreadReading, WalkaroundCheck
from instructors.models import Member

BOARD, BARE = "/cars/", "/bare/"


def bare(request: HttpRequest) -> HttpResponse:
    """Fetch what the board rests on, in the fewest queries, and make nothing of it."""
    since = LAST - timedelta(days=90)
    fills, readings = Fill.objects.order_by(), OdometerReading.objects.order_by()
    rows = [
        *Car.objects.select_related("keeper"),
        *Member.objects.all(),
        *DueItem.objects.filter(closed_on__isnull=True),
        *Defect.objects.exclude(state="closed"),
        *TreadReading.objects.filter(centre__lt="1.6"),
        *Confirmation.objects.all(),
        *WalkaroundCheck.objects.order_by().values_list("car_id").annotate(Max("checked_on")),
        *fills.filter(filled_on__lt=since).values_list("car_id").annotate(Max("filled_on"), Max("odometer")),
        *fills.filter(filled_on__gte=since).values_list("car_id", "filled_on", "odometer"),
        *readings.filter(read_on__lt=since).values_list("car_id").annotate(Max("read_on"), Max("miles")),
        *readings.filter(read_on__gte=since).values_list("car_id", "read_on", "miles"),
    ]
    return HttpResponse(f"{request.user}: {len(rows)}")


urlpatterns = [path(BARE.strip("/") + "/", bare), path("", include("config.urls"))]


def report_board(time_of: Callable[[Callable[[], object]], float]) -> None:
    """Print how long a coordinator waits for the board of all cars, and in how many queries it is made."""
    coordinator = Member.objects.create_superuser("coordinator@bench.example", name="Coordinator")
    noon = datetime.combine(LAST, time(12), ZoneInfo("Europe/London"))
    with time_machine.travel(noon, tick=False), override_settings(ROOT_URLCONF=__name__):
        client = Client(headers={"host": "localhost"})
        client.force_login(coordinator)
        car_count = client.get(BOARD).content.count(b"list-title mark")
        row_count = int(client.get(BARE).content.split()[-1])
        board_time, bare_time = time_of(lambda: client.get(BOARD)), time_of(lambda: client.get(BARE))
        query_count, query_count_of_five = _query_count(client), _query_count_of_five(client)
    print(
        f"board of {car_count} cars: {board_time * 1000:.1f} ms, bare view {bare_time * 1000:.1f} ms for "
        f"{row_count:,} rows: ratio {board_time / bare_time:.2f}; {query_count} queries, "
        f"{query_count_of_five} with five cars"
    )


def _query_count_of_five(client: Client) -> int:
    later = Car.objects.order_by("pk").values_list("pk", flat=True)[5:]
    Car.objects.filter(pk__in=list(later)).update(in_service_to=LAST - timedelta(days=1))
    count = _query_count(client)
    Car.objects.update(in_service_to=None)
    return count


def _query_count(client: Client) -> int:
    with CaptureQueriesContext(connection) as captured:
        client.get(BOARD)
        return len(captured)
