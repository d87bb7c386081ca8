"""The points of the walkaround check, as data: what to look at, what for, and which source names it.

They are an aid to memory. The law, the car's handbook and a qualified technician come first.
"""

from collections.abc import Collection
from datetime import date, timedelta
from typing import NamedTuple

#: By name, in the order in which one walks round the car.
GROUPS: dict[str, str] = {
    "outside": "Round the outside",
    "fluids": "Under the bonnet",
    "inside": "At the wheel",
    "tuition": "For tuition",
}
#: Common practice, no source.
CHECK_EVERY_DAYS = 7


class Point(NamedTuple):
    """One thing to look at; ``name`` is stored with the checks and never changes."""

    name: str
    group: str
    words: str
    look_for: str
    source: str


class NextCheck(NamedTuple):
    """When the next check of a car is due. ``days_since`` the last check is None if there was none."""

    due_on: date
    days_since: int | None
    is_due: bool


class Coverage(NamedTuple):
    """How much of the book's own list one check covered, and how many of the co-op's own points."""

    seen_count: int
    list_count: int
    own_count: int
    whole_groups: tuple[str, ...]
    left_out: tuple[Point, ...]


_TYRES = "Road Vehicles (Construction and Use) Regulations 1986 reg. 27 (secondary)"
_EVERY_DRIVE = "GOV.UK, Vehicle safety, before every drive (secondary)"
_BY_HANDBOOK = "GOV.UK, Vehicle safety, as often as the handbook says (secondary)"
_ANNEX_6 = "Highway Code annex 6 (NI official, GB secondary)"
_TEST_CAR = "GOV.UK, Driving test: using your own car (secondary)"
_PRACTICE = "common practice, no source"

_ALL = (
    Point(
        "tyre_tread",
        "outside",
        "Tyre tread",
        "At least 1.6 mm across the middle three quarters, all the way round.",
        _TYRES,
    ),
    Point("tyre_walls", "outside", "Tyre walls", "No cut, lump, bulge, tear, or cord showing.", _TYRES),
    Point(
        "tyre_pressure",
        "outside",
        "Tyre pressures",
        "As the handbook says, measured cold.",
        f"{_BY_HANDBOOK}; weekly: common practice, no source",
    ),
    Point(
        "lamps",
        "outside",
        "Lamps and indicators",
        "Each one clean and working, brake and reversing lamps too.",
        f"{_EVERY_DRIVE}; {_ANNEX_6}",
    ),
    Point(
        "glass",
        "outside",
        "Windscreen and windows",
        "Clean, no crack, nothing in the way of the view.",
        f"{_EVERY_DRIVE}; {_ANNEX_6}",
    ),
    Point("wipers", "outside", "Wipers, washers and demister", "They clear the glass.", _ANNEX_6),
    Point("number_plates", "outside", "Number plates", "Clean, whole and fixed, front and rear.", _ANNEX_6),
    Point(
        "bodywork",
        "outside",
        "Bodywork and exhaust",
        "Nothing loose, sharp, dripping or newly loud.",
        f"exhaust: {_ANNEX_6}; bodywork: {_PRACTICE}",
    ),
    Point(
        "engine_oil",
        "fluids",
        "Engine oil",
        "Between the marks, on level ground. An electric car has none.",
        _BY_HANDBOOK,
    ),
    Point(
        "coolant",
        "fluids",
        "Coolant",
        "Between the marks. Never open the cap while the engine is hot.",
        _BY_HANDBOOK,
    ),
    Point(
        "brake_fluid", "fluids", "Brake fluid", "Between the marks. If it is falling, have it looked at.", _BY_HANDBOOK
    ),
    Point("washer_fluid", "fluids", "Washer fluid", "Enough, front and rear.", _BY_HANDBOOK),
    Point("battery", "fluids", "Battery", "Held firmly, terminals clean and tight.", _BY_HANDBOOK),
    Point(
        "seats",
        "inside",
        "Seat belts and head restraints",
        "Belts run, lock and release; head restraints fixed.",
        _ANNEX_6,
    ),
    Point("mirrors", "inside", "Mirrors", "Whole, clean and set.", _EVERY_DRIVE),
    Point(
        "brakes", "inside", "Brakes", "Pedal firm, parking brake holds, straight on a first gentle stop.", _EVERY_DRIVE
    ),
    Point("steering", "inside", "Steering", "No new play, noise or pull to one side.", _ANNEX_6),
    Point("horn", "inside", "Horn", "It sounds.", _ANNEX_6),
    Point(
        "warning_lamps",
        "inside",
        "Warning lamps",
        "None stays on. The handbook says what each means.",
        f"{_ANNEX_6}; {_TEST_CAR}",
    ),
    Point("energy", "inside", "Fuel or charge", "Enough for the day's lessons.", _PRACTICE),
    Point(
        "dual_pedals",
        "tuition",
        "Dual controls",
        "Each pedal on the instructor's side works and comes back.",
        _PRACTICE,
    ),
    Point("footwells", "tuition", "Both footwells", "Nothing loose; mats cannot slide under a pedal.", _PRACTICE),
    Point(
        "extra_mirrors",
        "tuition",
        "Instructor's mirrors",
        "Fixed firmly and set.",
        f"extra interior mirror: {_TEST_CAR}",
    ),
    Point(
        "learner_plates",
        "tuition",
        "L or D plates",
        "Front and rear, secure, in view; they cover neither lamp nor number plate.",
        f"front and rear: {_TEST_CAR}; secure: {_PRACTICE}",
    ),
    Point(
        "badge",
        "tuition",
        "ADI badge or trainee licence",
        "In the windscreen and in date.",
        "must be shown on the car: Road Traffic Act 1988 s.123 (official)",
    ),
)

#: By name, in the order of GROUPS.
POINTS: dict[str, Point] = {point.name: point for point in _ALL}


def next_check_due(last_on: date | None, on: date) -> NextCheck:
    """When a car last checked on ``last_on`` is due for its next check, seen on ``on``; if never checked, now."""
    if last_on is None:
        return NextCheck(on, None, is_due=True)
    due_on = last_on + timedelta(days=CHECK_EVERY_DAYS)
    return NextCheck(due_on, (on - last_on).days, is_due=due_on <= on)


def coverage_of(names: Collection[str]) -> Coverage:
    """How much of ``POINTS`` a check covered; other names are the co-op's own points."""
    left_out = tuple(point for point in POINTS.values() if point.name not in names)
    gaps = {point.group for point in left_out}
    seen_count = len(POINTS) - len(left_out)
    own_count = len(set(names)) - seen_count
    return Coverage(seen_count, len(POINTS), own_count, tuple(g for g in GROUPS if g not in gaps), left_out)
