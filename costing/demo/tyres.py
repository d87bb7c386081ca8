"""The tyres of the made-up cars: a set is paid for and fitted on one day, and wears by a usual week's miles."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import NamedTuple

from costing.core.catalogue.costs import TYRES
from costing.demo.cast import Instructor
from costing.demo.condition import Write

TYRE_SET, TYRE_MILES = 310, 25_000
_WHEELS = ("front_left", "front_right", "rear_left", "rear_right")
#: The mm of tread of a new tyre, and what an axle loses of it in 1,000 miles: the front is worn when the set has run.
_NEW_TREAD = 8.0
_WEAR = {"front": 0.2, "rear": 0.13}
#: How many days ago the tread was measured, besides on the day of fitting.
_MEASURED = (150, 100, 50, 6)


class Tyres(NamedTuple):
    """One car's tyres, all in days ago: when the set was ``fitted`` and front and rear were ``rotated`` (0: never).

    They were last measured at least ``unmeasured`` ago.
    """

    fitted: int
    rotated: int = 0
    unmeasured: int = 0


_OF_CARS = {
    "QA69HVA": Tyres(41),
    # Low, but lawful.
    "QA18HVB": Tyres(385),
    "QA22HVC": Tyres(240, rotated=75),
    "QA23HVD": Tyres(300),
    "QA73HVE": Tyres(260, unmeasured=91),
    "QA12HVF": Tyres(115),
    "QA24HVG": Tyres(330),
    "QA17HVH": Tyres(171),
    # Nobody measures these.
    "QA15HVI": Tyres(200, unmeasured=9_999),
}


def write_tyres(of: Instructor, start: date, today: date, cost: Callable[..., object], write: Write) -> None:
    """Write what the last two sets cost, when the last was fitted and rotated, and its tread and that before it.

    ``cost`` writes what the instructor paid, if the car was in service by then.
    """
    tyres, lasts = _OF_CARS[of.registration], 7 * TYRE_MILES // of.weekly_miles
    if of.insurance:
        # With a car that is hired all in, the hirer buys them.
        for days_ago in (tyres.fitted + lasts, tyres.fitted):
            cost(today - timedelta(days=days_ago), TYRES.name, TYRE_SET, covers_miles=TYRE_MILES)
    depth, before = dict.fromkeys(_WHEELS, _NEW_TREAD), tyres.fitted + lasts
    for days_ago in sorted({*_MEASURED, tyres.rotated, tyres.fitted} - {0}, reverse=True):
        miles = of.weekly_miles * (before - days_ago) / 7
        depth = {wheel: mm - _WEAR[wheel.partition("_")[0]] * miles / 1000 for wheel, mm in depth.items()}
        before, on = days_ago, today - timedelta(days=days_ago)
        came_from = dict.fromkeys(_WHEELS, "") if days_ago == tyres.fitted else {}
        if days_ago == tyres.fitted:
            depth = dict.fromkeys(_WHEELS, _NEW_TREAD)
        elif days_ago == tyres.rotated:
            # Front and rear change places on each side.
            came_from = dict(zip(_WHEELS, (*_WHEELS[2:], *_WHEELS[:2]), strict=True))
            depth = {wheel: depth[other] for wheel, other in came_from.items()}
        if on < start or days_ago < tyres.unmeasured:
            continue
        for wheel, other in came_from.items():
            write("tyre_moves", registration=of.registration, moved_on=on, wheel=wheel, came_from=other)
        for wheel, mm in depth.items():
            bands = {"inner": f"{mm:.1f}", "centre": f"{mm + 0.2:.1f}", "outer": f"{mm + 0.1:.1f}"}
            write("treads", registration=of.registration, wheel=wheel, read_on=on, **bands)
