"""What to look at before signing for a used car, what was found, and the bills of its first year.

It holds what somebody saw and asked. It gives no mark, and never says that a car is fine.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import NamedTuple

from costing.choosing.core.case import Case, Offer
from costing.choosing.core.course import course_of
from costing.choosing.core.figures import items_before_leaving
from costing.choosing.core.mot_history import MotTest
from costing.choosing.core.payments import place
from costing.choosing.core.running import is_told, mot_months
from costing.core.catalogue.running import AS_ASKED, MOT, RunningPart

#: An MOT history is typed in by hand, and a car in use for twenty years, with its retests, has no more rows.
MOST_TESTS = 30
#: How many repairs that the car will need soon can be noted.
MOST_WORK = 5


class PointGroup(StrEnum):
    """Points that one looks at together, in the order in which a car is bought."""

    SUITS = "Does it suit tuition?"
    PAPERS = "Papers and recalls"
    DRIVE = "An hour’s drive"


class Point(NamedTuple):
    """One question, asked so that a no speaks against the car. ``no`` says it as a finding."""

    name: str
    group: PointGroup
    question: str
    no: str
    hint: str = ""


_POINTS = (
    Point(
        "closed_roof",
        PointGroup.SUITS,
        "Does it have a closed roof?",
        "It has no closed roof",
        "Some open cars are refused for driving tests, because the examiner cannot see enough.",
    ),
    Point(
        "controls",
        PointGroup.SUITS,
        "Does a fitter say that dual controls can be fitted?",
        "No fitter says that dual controls can be fitted",
        "Ask before you sign, with the exact model, year and gearbox.",
    ),
    Point(
        "pedals",
        PointGroup.SUITS,
        "Is there room for feet and pedals on both sides?",
        "There is not enough room for feet and pedals on both sides",
    ),
    Point(
        "gearbox",
        PointGroup.SUITS,
        "Is the gearbox the one your pupils learn with?",
        "The gearbox is not the one your pupils learn with",
    ),
    Point(
        "seat_and_belt",
        PointGroup.SUITS,
        "Has the passenger seat a proper head restraint and belt?",
        "The passenger seat has no proper head restraint and belt",
        "A driving test asks for both.",
    ),
    Point(
        "warning_lights",
        PointGroup.SUITS,
        "Do all warning lights go out once the engine runs?",
        "A warning light stays on",
    ),
    Point(
        "inspected",
        PointGroup.SUITS,
        "Has a qualified technician inspected it and found it roadworthy?",
        "No qualified technician has found it roadworthy",
        "No list replaces this.",
    ),
    Point(
        "document",
        PointGroup.PAPERS,
        "Have you seen the registration document, in the seller’s name?",
        "You have not seen the registration document in the seller’s name",
        "It names who keeps the car, which does not prove who owns it.",
    ),
    Point(
        "outstanding_finance",
        PointGroup.PAPERS,
        "Did you ask about outstanding finance, and is there none?",
        "Finance may be outstanding on it",
        "Until it is paid, the car may belong to the lender. A check of its history asks lenders too.",
    ),
    Point("keys", PointGroup.PAPERS, "Do you get every key that it came with?", "A key is missing"),
    Point(
        "service_record",
        PointGroup.PAPERS,
        "Is there a service record that goes with its miles?",
        "There is no service record that goes with its miles",
    ),
    Point(
        "recalls",
        PointGroup.PAPERS,
        "Have you looked up its safety recalls, and is each one done?",
        "A safety recall is open or was not looked up",
        "For some models a driving test asks for proof that the work was done.",
    ),
    Point(
        "driven",
        PointGroup.DRIVE,
        "Did you drive it for an hour, on the roads you teach on?",
        "You have not driven it for an hour",
        "Sit in the passenger seat for some of it: that is where you will work.",
    ),
    Point(
        "noise",
        PointGroup.DRIVE,
        "Could you bear its noise for seven hours a day?",
        "You could not bear its noise for seven hours a day",
    ),
    Point(
        "seat",
        PointGroup.DRIVE,
        "Could you bear the passenger seat for seven hours a day?",
        "You could not bear the passenger seat for seven hours a day",
    ),
)
#: By name, in the order in which they are asked.
POINTS: Mapping[str, Point] = MappingProxyType({point.name: point for point in _POINTS})


class Work(NamedTuple):
    """Something that the car will need soon, and what it is said to cost, in pence; None if nobody has said."""

    words: str
    pence: int | None = None


class LookOver(NamedTuple):
    """What was found: an answer by name of a point, True for yes; a point that nobody has looked at has none.

    ``keepers`` is how many keepers the registration document counts; None if it isn't noted.
    """

    answers: Mapping[str, bool] = MappingProxyType({})
    keepers: int | None = None
    tests: tuple[MotTest, ...] = ()
    work: tuple[Work, ...] = ()

    @property
    def against(self) -> tuple[Point, ...]:
        """The points answered with no."""
        return tuple(point for name, point in POINTS.items() if self.answers.get(name) is False)

    @property
    def not_yet(self) -> tuple[Point, ...]:
        """The points that nobody has looked at."""
        return tuple(point for name, point in POINTS.items() if name not in self.answers)

    @property
    def work_pence(self) -> int:
        """What all the work noted is said to cost, as far as anybody has said."""
        return sum(work.pence or 0 for work in self.work)

    def looked_at(self, group: PointGroup) -> int:
        """How many points of a group are answered."""
        return sum(POINTS[name].group is group for name in self.answers)


class Bill(NamedTuple):
    """What one running cost comes to in the first year, in pence; None if it isn't told."""

    part: RunningPart
    pence: int | None


def first_year_bills(case: Case, offer: Offer) -> tuple[Bill, ...]:
    """What running the car of an offer costs in its first year; what the offer includes is left out."""
    course, running = course_of(case.use, months=12), case.running_of(offer)
    paid = place(items_before_leaving(running, offer, course), course.months).parts
    asked = [part for part in AS_ASKED if part is not MOT or mot_months(offer, course.use, course.months)]
    return tuple(
        Bill(part, paid.get(part.name, 0) if is_told(part, running) else None)
        for part in asked
        if part.name not in offer.includes
    )
