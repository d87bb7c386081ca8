"""Run the benchmark on a PostgreSQL of its own: `make bench`."""

import os
import resource
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from statistics import median

from tests.servers import PostgreSQL, short_folder

#: What the child process that closes the month says its peak is.
PEAK = "peak"
ROUNDS = 15


def main() -> None:
    folder = short_folder()
    folder.chmod(0o711)  # PostgreSQL, run by its own account as root, must pass through
    server = PostgreSQL(folder / "pg")
    os.environ |= {
        "DATABASE_URL": server.url_of("postgres"),
        "DATA_DIR": str(folder / "data"),
        "SECRET_KEY": "only for the benchmark, only for the benchmark",
        "REDIS_URL": "",
        "LOG_LEVEL": "WARNING",
    }
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    try:
        server.start()
        _run()
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _run() -> None:
    import django
    from django.core.management import call_command

    django.setup()
    from django.db import connection

    from bench.board import report_board
    from bench.book import COSTS, FILLS, LAST, TEACHING, write_book
    from bench.comparison import report_comparison
    from bench.offers import report_offers
    from costing.core.periods import months_ending
    from fleet.models import Car

    call_command("migrate", verbosity=0)
    write_book()
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    cars = list(Car.objects.select_related("keeper"))
    year = months_ending(LAST, 12)
    print(
        f"{len(cars)} cars, {FILLS * len(cars):,} fills, {COSTS * len(cars):,} costs, {TEACHING * len(cars):,} records"
    )
    _report("one member's 12-month report", year, cars[:1], cars[0].keeper)
    _report("all cars' 12-month reports", year, cars, None)
    _home_queries(cars)
    report_board(_time)
    report_offers(_time)
    report_comparison(_time, cars[0].keeper)
    _closing_peak()


def _report(what: str, year: object, cars: list, member: object) -> None:
    import psycopg
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from costing.queries import car_books
    from costing.report import car_reports

    def report() -> None:
        for [of_year] in car_reports([year], cars=cars, member=member):
            if not of_year.cost.true_cost:
                raise RuntimeError("nothing was worked out, so nothing is measured")

    with CaptureQueriesContext(
        connection,
    ) as captured:
        report()
    at = connection.settings_dict
    with psycopg.connect(host=at["HOST"], user=at["USER"], dbname=at["NAME"]) as bare:
        rows = 0

        def fetch() -> None:
            nonlocal rows
            rows = sum(len(bare.execute(query["sql"]).fetchall()) for query in captured)

        bare_time = _time(fetch)
    report_time = _time(report)
    books_time = _time(lambda: car_books(cars, year, member=member))
    print(
        f"{what}: {report_time * 1000:.1f} ms (of which reading {books_time * 1000:.1f}), "
        f"bare psycopg {bare_time * 1000:.1f} ms for {rows:,} rows in {len(captured)} queries: "
        f"ratio {report_time / bare_time:.2f}"
    )


def _time(call: Callable[[], None]) -> float:
    times = []
    for _ in range(ROUNDS):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return median(times)


def _home_queries(cars: list) -> None:
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    client = Client(headers={"host": "localhost"})
    client.force_login(cars[0].keeper)
    client.get("/")
    with CaptureQueriesContext(connection) as captured:
        started = time.perf_counter()
        client.get("/")
        took = time.perf_counter() - started
    print(f"home page: {len(captured)} queries, {took * 1000:.0f} ms")


def _closing_peak() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "bench", PEAK], env=os.environ, capture_output=True, text=True, check=True
    )
    print(done.stdout.strip())


def _close_everything() -> None:
    """Close the newest month, then all of ten years, and say how long it took and the peak."""
    import django

    django.setup()
    from bench.book import LAST
    from costing.closing import close_past_months, last_month_to_close
    from costing.models import GroupFigure
    from fleet.core.days import add_months

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    closing = add_months(LAST.replace(day=1), 1).replace(day=10)
    newest = last_month_to_close(closing)
    for months, words in ((1, "the newest month"), (120, "all of ten years")):
        GroupFigure.objects.all().delete()
        GroupFigure.objects.bulk_create(
            GroupFigure(
                month=add_months(newest, -back), span=span, contributor_count=0, out_count=0, minimum=5, rounded_to=20
            )
            for back in range(months, 120)
            for span in ("month", "year")
        )
        started = time.process_time()
        close_past_months(closing)
        print(f"closing {words}: {time.process_time() - started:.1f} s of CPU time")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory {peak:.0f} MB ({before:.0f} before)")


if __name__ == "__main__":
    if sys.argv[1:] == [PEAK]:
        _close_everything()
    else:
        main()
