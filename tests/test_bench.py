"""The bench can be run, and its limits hold: how fast anything is, no test asks."""

import pytest

from bench import __main__ as bench
from bench.archive import too_dear, too_large
from bench.delivery import MOST_OF_START, starts_slowly
from bench.growth import MOST_OF_BOARD, STEEPEST, slope, slope_figure, too_heavy
from bench.log import too_slow
from bench.measuring import Work


def test_each_measure_has_its_line_in_the_help() -> None:
    assert list(bench.measures()) == list(bench.MEASURES)


@pytest.mark.parametrize(("power", "is_too_steep"), [(0.9, False), (1, False), (1.09, False), (1.11, True), (2, True)])
def test_work_that_grows_faster_than_the_cars_fails(power: float, is_too_steep: bool) -> None:
    work = {cars: Work(python=0.01 * cars**power, database=0, passed=9) for cars in (50, 500, 5_000)}
    assert slope({cars: each.cpu for cars, each in work.items()}) == pytest.approx(power)
    assert bool(slope_figure("closing a month", work).failure) is is_too_steep
    assert (power > STEEPEST) is is_too_steep


def test_work_that_only_the_database_does_is_counted() -> None:
    work = {cars: Work(python=0.01, database=0.001 * cars**2, passed=9) for cars in (50, 500)}
    assert slope_figure("the board", work).failure == (
        "the board grows faster than the work: slope 2.00, at most 1.1 is allowed"
    )


def test_a_page_of_the_board_that_is_too_heavy_fails() -> None:
    assert too_heavy(500, MOST_OF_BOARD) == ""
    assert too_heavy(500, 60_001) == "a page of the board of 500 cars has 60,001 bytes, at most 60,000 are allowed"


def test_a_command_that_starts_too_slowly_fails() -> None:
    assert starts_slowly(MOST_OF_START) == ""
    assert starts_slowly(3) == "`manage.py check` takes 3.00 times that of an empty project, at most 2.5 are allowed"


def test_a_log_at_less_than_a_third_of_the_rate_fails() -> None:
    assert too_slow(0.34) == ""
    assert too_slow(0.3) == "a fill is logged over gunicorn at 0.30 of the rate of a bare INSERT, at least 0.33 is due"


def test_an_archive_that_takes_too_much_fails() -> None:
    assert too_dear(5) == too_large(200) == ""
    assert too_dear(5.1) == "loading an archive takes 5.1 times csv and executemany, at most 5 are allowed"
    assert too_large(201) == "loading an archive takes 201 MB at its peak, at most 200 are allowed"
