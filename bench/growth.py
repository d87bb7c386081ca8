"""How work grows with the book: ten times the cars may take little more than ten times the work."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from math import log

from django.db import connection
from django.test.utils import CaptureQueriesContext

from bench.answers import BOARD, coordinator_client
from bench.book import TWO_THIN_YEARS, add_cars, at_noon, write_book
from bench.closing import close, leave_open
from bench.measuring import Figure, Work, in_words, typical, work_of

#: The steepest slope of log work over log cars: 1 is work in step with the cars, 2 is every car held against every.
STEEPEST = 1.1
BOARDS, CLOSINGS = (5, 50, 500), (50, 500, 5_000)


def growth() -> Iterator[Figure]:
    """Measure the board and the closing of a month on a book that grows under them."""
    boards: dict[int, Work] = {}
    closings: dict[int, Work] = {}
    write_book(0, TWO_THIN_YEARS)
    for cars in sorted({*BOARDS, *CLOSINGS}):
        add_cars(cars, TWO_THIN_YEARS)
        if cars in BOARDS:
            boards[cars], queries = _board()
            yield Figure(f"board of {cars:,} cars: {in_words(boards[cars])}, {queries} queries")
        if cars in CLOSINGS:
            closings[cars] = _closing(cars)
            yield Figure(f"closing a month of {cars:,} cars: {in_words(closings[cars])}")
    yield _slope("the board", boards)
    yield _slope("closing a month", closings)


def _board() -> tuple[Work, int]:
    with at_noon():
        client = coordinator_client()
        with CaptureQueriesContext(connection) as captured:
            client.get(BOARD)
        return typical(lambda: client.get(BOARD), rounds=5), len(captured)


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


def _slope(what: str, work: Mapping[int, Work]) -> Figure:
    seconds = {cars: each.cpu for cars, each in work.items()}
    steps = ", ".join(f"{slope({few: seconds[few], many: seconds[many]}):.2f}" for few, many in pairwise(seconds))
    found = slope(seconds)
    failure = f"{what} grows faster than the work: slope {found:.2f}, at most {STEEPEST} is allowed"
    return Figure(
        f"slope of {what} from {min(work):,} to {max(work):,} cars: {found:.2f} (step by step {steps})",
        failure if found > STEEPEST else "",
    )
