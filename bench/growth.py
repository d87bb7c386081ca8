"""How work grows: that of the group with its cars, little more than in step; that of a member's pages with their book.

Closing is measured on the large book too: the newest month, then all of ten years, with the memory that takes.
"""

import os
import subprocess
import sys
from collections.abc import Iterator, Mapping
from datetime import date
from functools import partial
from io import BytesIO
from itertools import pairwise
from math import log
from pathlib import Path

from django.db import transaction
from django.urls import reverse

from bench.book import (
    LAST,
    NEWEST,
    TEN_YEARS,
    TODAY,
    TWO_THIN_YEARS,
    History,
    add_cars,
    at_noon,
    client_of,
    coordinator_client,
    write_book,
)
from bench.measuring import Figure, Work, in_words, statements, typical, work_of
from config.backup import back_up_to_stream
from config.sql import rows
from costing.closing import close_past_months
from costing.models import GroupFigure, Span
from fleet.core.days import add_months
from fleet.models import Car
from fleet.reminders import plan_reminders

#: The steepest slope of log work over log cars: 1 is work in step with the cars, 2 is every car held against every.
STEEPEST = 1.1
BOARDS, CLOSINGS = (5, 50, 500), (50, 500, 5_000)
#: Times the records of one member of ten years, who logs one of each kind every few days.
TIMES = (1, 10, 100)
#: Cars of whole books of ten years.
DECADES = (50, 500)
#: Bytes of HTML of a page of the board, however many cars there are.
MOST_OF_BOARD = 60_000
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
    code = "import django; django.setup(); from bench.growth import close_large_book; close_large_book()"
    done = subprocess.run([sys.executable, "-c", code], env=os.environ, stdout=subprocess.PIPE, text=True, check=True)
    yield from (Figure(line) for line in done.stdout.splitlines())


def close_large_book() -> None:
    """Print what closing one month takes, then all of them, and the most memory this process has had."""
    before = peak()
    for months, words in ((1, "the newest month"), (12 * TEN_YEARS.years, "all of ten years")):
        leave_open(months, TEN_YEARS)
        print(f"closing {words} of the large book: {in_words(work_of(close))}")
    print(f"peak memory of that: {peak():.0f} MB, {before:.0f} MB before it")


def peak() -> float:
    """The most memory this process has had, in MB. getrusage would count what its parent had when it started it."""
    lines = Path("/proc/self/status").read_text().splitlines()
    [kilobytes] = [line.split()[1] for line in lines if line.startswith("VmHWM:")]
    return int(kilobytes) / 1024


def growth() -> Iterator[Figure]:
    """Measure the board and the closing of a month on a book that grows under them."""
    boards: dict[int, Work] = {}
    closings: dict[int, Work] = {}
    write_book(0, TWO_THIN_YEARS)
    for cars in sorted({*BOARDS, *CLOSINGS}):
        add_cars(cars, TWO_THIN_YEARS)
        if cars in BOARDS:
            boards[cars], count, weight = _board()
            words = (
                f"board of {cars:,} cars: {in_words(boards[cars])}, {count} statements, {weight / 1000:.1f} kB of HTML"
            )
            yield Figure(words, too_heavy(cars, weight))
        if cars in CLOSINGS:
            closings[cars] = _closing(cars)
            yield Figure(f"closing a month of {cars:,} cars: {in_words(closings[cars])}")
            yield from _nights(cars)
            yield from _pages(f"of one of {cars:,} members", NEWEST)
    yield slope_figure("the board", boards)
    yield slope_figure("closing a month", closings)
    for times in TIMES:
        yield from _own_book(times)
    for cars in DECADES:
        yield from _ten_years(cars)


def _ten_years(cars: int) -> Iterator[Figure]:
    """A co-op of so many members that has kept its book for ten years: what it weighs, and what everybody waits for."""
    write_book(cars, TEN_YEARS)
    [[size]] = rows("SELECT pg_database_size(current_database())")
    yield Figure(f"ten years of {cars:,} cars: {size / 1e6:,.0f} MB in the database")
    yield from _pages(f"of one of {cars:,} members of ten years", NEWEST)
    board, count, weight = _board()
    yield Figure(f"board of {cars:,} cars of ten years: {in_words(board)}, {count} statements, {weight / 1000:.1f} kB")
    leave_open(1, TEN_YEARS)
    yield Figure(f"closing a month of {cars:,} cars of ten years: {in_words(work_of(close))}")
    yield from _nights(cars)


def _own_book(times: int) -> Iterator[Figure]:
    """The pages of a member alone, with so many times the records."""
    more = {kind: getattr(TEN_YEARS, kind) * times for kind in ("fills", "costs", "lessons")}
    write_book(1, TEN_YEARS._replace(**more))
    count = TEN_YEARS.years * sum(more.values())
    yield from _pages(f"of a member with {count:,} entries", TEN_YEARS.first)


def _pages(whose: str, first: date) -> Iterator[Figure]:
    """What a member opens most, and their statement since ``first``."""
    with at_noon():
        client = client_of(Car.objects.select_related("keeper").order_by("pk")[0].keeper)
        since = f"?first={first}&last={LAST}"
        for what, name, asked in (
            ("home", "home", ""),
            ("entries", "entries", ""),
            ("group", "group", ""),
            ("odd", "odd-list", ""),
            ("statement", "statement", since),
        ):
            address = reverse(f"costing:{name}") + asked
            work, weight = typical(partial(client.get, address), rounds=3), len(client.get(address).content)
            yield Figure(f"{what} {whose}: {in_words(work)}, {weight / 1000:.1f} kB of HTML")


def _nights(cars: int) -> Iterator[Figure]:
    """What is done each night for all: the reminders planned, with none sent, and the backup."""
    with at_noon(), transaction.atomic():
        yield Figure(f"planning the reminders of {cars:,} cars: {in_words(work_of(lambda: plan_reminders(TODAY)))}")
        transaction.set_rollback(True)
    made = BytesIO()
    work = work_of(lambda: back_up_to_stream(made, ""))
    yield Figure(f"backing up {cars:,} cars: {in_words(work)}, {made.tell() / 1e6:.1f} MB")


def _board() -> tuple[Work, int, int]:
    """The work of the board's first page, its statements, and its bytes."""
    with at_noon():
        client, address = coordinator_client(), reverse("fleet:car-list")
        work, count = typical(lambda: client.get(address), rounds=5), statements(lambda: client.get(address))
        return work, count, len(client.get(address).content)


def too_heavy(cars: int, weight: int) -> str:
    """Whether a page of the board has too many bytes, in words; empty if not."""
    words = f"a page of the board of {cars:,} cars has {weight:,} bytes, at most {MOST_OF_BOARD:,} are allowed"
    return words * (weight > MOST_OF_BOARD)


def _closing(cars: int) -> Work:
    """The work of closing the newest month; a large book is closed once, for it takes long enough to be sure of."""
    leave_open(1, TWO_THIN_YEARS)
    if cars > CLOSINGS[0]:
        return work_of(close)
    return typical(close, rounds=3, between=lambda: leave_open(1, TWO_THIN_YEARS))


def slope(work: Mapping[int, float]) -> float:
    """The power of the number of cars with which the work grew from the fewest cars to the most."""
    fewest, most = min(work), max(work)
    return log(work[most] / work[fewest]) / log(most / fewest)


def slope_figure(what: str, work: Mapping[int, Work]) -> Figure:
    seconds = {cars: each.cpu for cars, each in work.items()}
    steps = ", ".join(f"{slope({few: seconds[few], many: seconds[many]}):.2f}" for few, many in pairwise(seconds))
    found = slope(seconds)
    failure = f"{what} grows faster than the work: slope {found:.2f}, at most {STEEPEST} is allowed"
    return Figure(
        f"slope of {what} from {min(work):,} to {max(work):,} cars: {found:.2f} (step by step {steps})",
        failure if found > STEEPEST else "",
    )
