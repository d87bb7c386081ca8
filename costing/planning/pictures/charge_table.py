"""The table behind what to charge: the parts of the cost, and what is made of them."""

from collections.abc import Iterator
from typing import NamedTuple

from config.showing import pence_as_pounds
from costing.core.money import to_pence, to_places
from costing.planning.pictures.charging import LACKS, ChargePicture
from costing.planning.pictures.words import figure, money, plain

BY_HAND = "as you typed it"


class Line(NamedTuple):
    """One line of the table: what it is, its figure, and where it comes from."""

    words: str
    figure: str
    source: str


def lines_of(picture: ChargePicture) -> Iterator[Line]:
    """Yield the table: the parts of the cost and what is made of them."""
    cost, lessons, plan = picture.cost, picture.lessons, picture.plan
    if cost is None or lessons is None:
        return
    own = f"from {picture.own.of}"
    by_hand = {name: BY_HAND if getattr(plan, name) is not None else own for name in LACKS}
    yield Line("The car, a week, taught or not", money(cost.week), by_hand["car_a_week"])
    if plan.other_costs is not None:
        yield Line("Other costs, a week", pence_as_pounds(to_pence(plan.other_costs)), BY_HAND)
    yield Line("A business mile", f"{to_places(cost.mile, 1)}p", by_hand["car_pence_a_mile"])
    yield Line("Miles a lesson hour", str(to_places(cost.miles_an_hour, 1)), by_hand["miles_an_hour"])
    if picture.own.cost is not None:
        yield Line("An hour, apart from its miles", money(cost.hour), f"{own}: cleaning, parking and tolls")
    yield Line("What each hour adds", money(lessons.variable), "its miles, and the line above")
    if picture.hours is not None:
        typed = plan.hours_a_week is not None
        weeks = "every week" if plan.weeks_a_year is None else f"{plain(plan.weeks_a_year)} weeks"
        yield Line("Lesson hours a week", figure(picture.hours), f"{BY_HAND if typed else own}, {weeks} of the year")
    if lessons.cost_an_hour is not None:
        yield Line("What an hour costs in all", money(lessons.cost_an_hour), "with its part of the weeks")
    if lessons.contribution is not None:
        yield Line("What an hour brings in over that", money(lessons.contribution), "the contribution")
    if (needed := lessons.hours_needed()) is not None:
        yield Line("Break-even", f"{to_places(needed, 2)} hours a week", "fixed cost by contribution")
