"""Run the bench, or some of its measures, on a PostgreSQL of its own: `make bench`.

Exit status: 0 done; 1 a limit is broken, one sentence for each on standard error; 2 wrong use.
"""

import argparse
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterator, Mapping

from bench.measuring import Figure
from tests.servers import PostgreSQL, short_folder

#: By the name of each measure: what it says.
MEASURES = {
    "report": "12-month reports over plain selects of the same rows",
    "home": "the home page over a bare view that selects the same rows: at most 3, in 14 statements",
    "board": "the board of all cars, likewise",
    "log": "a fill logged by a script over a bare view with one INSERT: at most 4, over gunicorn a third of its rate",
    "paper": "PDFs over WeasyPrint's own time for the same HTML: at most 1.3",
    "offers": "comparing offers, and drawing the odds over bare numpy",
    "weights": "the bytes of the main pages with their static files: of the one for a fill at most 60 kB, then 3 kB",
    "start": "from the start of a process to its first answer, importing, and `manage.py check`: at most 2.5",
    "closing": "closing ten years of the large book, and the memory it takes",
    "archive": "loading an archive of 140,000 rows over csv and executemany: at most 5, in 200 MB",
    "growth": "closing 50 to 5,000 cars, the board of 5 to 500: a slope of at most 1.1, 60 kB a page; what else grows",
}
#: Growth has a book of its own, which takes the place of the large one.
_OWN_BOOK = ("growth",)


def main() -> int:
    """Measure what is asked for. Returns the exit status."""
    wanted = _wanted()
    folder = short_folder()
    folder.chmod(0o711)  # PostgreSQL, run by its own account as root, must pass through
    server = PostgreSQL(folder / "pg")
    os.environ |= {
        "DATABASE_URL": server.url_of("postgres"),
        "DATA_DIR": str(folder / "data"),
        "SECRET_KEY": "only for the benchmark, only for the benchmark",
        "REDIS_URL": "",
        "LOG_LEVEL": "WARNING",
        "DJANGO_SETTINGS_MODULE": "config.settings",
        # Whatever a query takes is taken by the one process that the bench asks for its CPU time.
        "PGOPTIONS": "-c max_parallel_workers_per_gather=0",
    }
    # An empty folder of collected files, so that nobody is warned that there is none.
    (folder / "data/static").mkdir(parents=True)
    try:
        server.start()
        return _run(wanted)
    finally:
        server.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _wanted() -> list[str]:
    lines = [f"  {name:<9} {words}" for name, words in MEASURES.items()]
    parser = argparse.ArgumentParser(
        prog="make bench ARGS=...",
        description="How much work the book takes: CPU time in Python and in the database, medians of rounds.",
        epilog="\n".join(["measures:", *lines]),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("measures", nargs="*", metavar="measure", help="which to take; all of them if none is named")
    asked = parser.parse_args().measures
    if unknown := [name for name in asked if name not in MEASURES]:
        parser.error(f"there is no measure {unknown[0]}: {', '.join(MEASURES)}")
    return [name for name in MEASURES if not asked or name in asked]


def _run(wanted: list[str]) -> int:
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import connection

    from bench.book import TEN_YEARS, write_book

    call_command("migrate", verbosity=0)
    if set(wanted) - set(_OWN_BOOK):
        cars = len(write_book(50, TEN_YEARS))
        fills, costs, lessons = (cars * TEN_YEARS.years * a_year for a_year in TEN_YEARS[1:4])
        print(f"The large book: {cars} cars, {fills:,} fills, {costs:,} costs, {lessons:,} lesson records", flush=True)
    failures = []
    by_name = measures()
    for name in wanted:
        started = time.perf_counter()
        for words, failure in by_name[name]():
            print(words, flush=True)
            failures += [failure] if failure else []
        print(f"  ({name} took {time.perf_counter() - started:.0f} s)", flush=True)
    connection.close()
    for failure in failures:
        print(f"Beyond its limit: {failure}.", file=sys.stderr)
    return 1 if failures else 0


def measures() -> Mapping[str, Callable[[], Iterator[Figure]]]:
    """The measures by name. They know the models, so they are imported only now that Django is set up."""
    from bench.answers import board, home, report
    from bench.archive import archive
    from bench.delivery import paper, start, weights
    from bench.growth import closing, growth
    from bench.log import log
    from bench.offers import offers

    found = (report, home, board, log, paper, offers, weights, start, closing, archive, growth)
    return {measure.__name__: measure for measure in found}


if __name__ == "__main__":
    sys.exit(main())
