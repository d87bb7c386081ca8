"""Closing months: the newest alone, as every month, and all of ten years, with the memory that takes."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from bench.book import LAST, TEN_YEARS, TODAY, History
from bench.measuring import Figure, in_words, work_of
from costing.closing import close_past_months
from costing.models import GroupFigure, Span
from fleet.core.days import add_months

NEWEST = LAST.replace(day=1)
#: Pounds, about what the made-up cars come to. A year is held against what its months have told.
FIGURES = {
    "median_cost_per_lesson_hour": "5.20", "lower_quartile_cost_per_lesson_hour": "4.60",
    "upper_quartile_cost_per_lesson_hour": "6.00", "median_cost_per_mile": "0.34",
}  # fmt: skip


def leave_open(months: int, history: History) -> None:
    """Have all months of the book before the newest ``months`` closed, with figures of their own."""
    GroupFigure.objects.all().delete()
    closed = 12 * history.years - months
    GroupFigure.objects.bulk_create(
        GroupFigure(
            month=add_months(history.first, back), span=span, contributor_count=5, out_count=0, minimum=5,
            rounded_to=20, **FIGURES,
        )
        for back in range(closed)
        for span in Span.values
    )  # fmt: skip


def close() -> None:
    """Close what is open. Raises RuntimeError where that makes no figure of the newest month."""
    close_past_months(TODAY)
    if not GroupFigure.objects.filter(month=NEWEST, contributor_count__gt=0).exists():
        raise RuntimeError("nothing was closed, so nothing is measured")


def closing() -> Iterator[Figure]:
    """Close the newest month and then ten years of the large book, in a process of its own, for its peak is asked."""
    code = "import django; django.setup(); from bench.closing import close_large_book; close_large_book()"
    done = subprocess.run([sys.executable, "-c", code], env=os.environ, stdout=subprocess.PIPE, text=True, check=True)
    yield from (Figure(line) for line in done.stdout.splitlines())


def close_large_book() -> None:
    """Print what closing one month takes, then all of them, and the most memory this process has had."""
    before = _peak()
    for months, words in ((1, "the newest month"), (12 * TEN_YEARS.years, "all of ten years")):
        leave_open(months, TEN_YEARS)
        print(f"closing {words} of the large book: {in_words(work_of(close))}")
    print(f"peak memory of that: {_peak():.0f} MB, {before:.0f} MB before it")


def _peak() -> float:
    """The most memory this process has had, in MB. getrusage would count what its parent had when it started it."""
    lines = Path("/proc/self/status").read_text().splitlines()
    [kilobytes] = [line.split()[1] for line in lines if line.startswith("VmHWM:")]
    return int(kilobytes) / 1024
