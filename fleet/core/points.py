"""The points of the walkaround check, as data: what to look at, what for, and which source names it.

They are an aid to memory. The law, the car's handbook and a qualified technician come first.
"""

from collections.abc import Collection, Sequence
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


class Build(NamedTuple):
    """What a car is, as far as the points ask; fuel and transmission as the book names them."""

    fuel: str
    transmission: str
    dual_controls: bool
    soft_top: bool


class Fits(NamedTuple):
    """The cars to which a point applies; what is left empty applies to any."""

    fuels: frozenset[str] = frozenset()
    transmission: str = ""
    with_dual_controls: bool = False
    with_soft_top: bool = False

    def has(self, build: Build) -> bool:
        """Whether a car of that build is among them."""
        return (
            (not self.fuels or build.fuel in self.fuels)
            and self.transmission in ("", build.transmission)
            and (build.dual_controls or not self.with_dual_controls)
            and (build.soft_top or not self.with_soft_top)
        )


ANY_CAR = Fits()


class Point(NamedTuple):
    """One thing to look at; ``name`` is stored with the checks and never changes."""

    name: str
    group: str
    words: str
    look_for: str
    source: str
    fits: Fits = ANY_CAR


class NextCheck(NamedTuple):
    """When the next check of a car is due. ``days_since`` the last check is None if there was none."""

    due_on: date
    days_since: int | None
    is_due: bool


class Coverage(NamedTuple):
    """How much of the list for that car one check covered, and how many of the co-op's own points."""

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

#: Which car has an engine, a plug or a clutch follows from what it is; that needs no source.
_WITH_ENGINE = Fits(fuels=frozenset({"petrol", "diesel", "hybrid", "plugin_hybrid"}))
_ELECTRIC = Fits(fuels=frozenset({"electric"}))
_WITH_PLUG = Fits(fuels=frozenset({"plugin_hybrid", "electric"}))
_MANUAL, _AUTOMATIC = Fits(transmission="manual"), Fits(transmission="automatic")
_DUAL_CONTROLLED, _SOFT_TOPPED = Fits(with_dual_controls=True), Fits(with_soft_top=True)

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
        _WITH_ENGINE,
    ),
    Point("body", "outside", "Bodywork", "Nothing loose, sharp or dripping.", _PRACTICE, _ELECTRIC),
    Point("soft_top", "outside", "Soft top", "Closed and latched; no tear.", _PRACTICE, _SOFT_TOPPED),
    Point("charging", "outside", "Charging socket and cable", "Clean, dry and whole.", _PRACTICE, _WITH_PLUG),
    Point(
        "engine_oil",
        "fluids",
        "Engine oil",
        "Between the marks, on level ground.",
        _BY_HANDBOOK,
        _WITH_ENGINE,
    ),
    Point(
        "coolant",
        "fluids",
        "Coolant",
        "Between the marks. Never open the cap while it is hot.",
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
    Point(
        "clutch",
        "inside",
        "Clutch",
        "It bites where it did, without slip or judder; the pedal comes back.",
        _PRACTICE,
        _MANUAL,
    ),
    Point(
        "selector", "inside", "Gear selector", "It starts in P or N alone, and P holds the car.", _PRACTICE, _AUTOMATIC
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
        _DUAL_CONTROLLED,
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


def points_for(build: Build) -> list[Point]:
    """The points of the book's own list that apply to a car of that build, in the order of the walk."""
    return [point for point in POINTS.values() if point.fits.has(build)]


def coverage_of(names: Collection[str], build: Build) -> Coverage:
    """How much of the list for a car of that build a check covered; names outside ``POINTS`` are the co-op's own."""
    asked = points_for(build)
    left_out = tuple(point for point in asked if point.name not in names)
    gaps = {point.group for point in left_out}
    whole_groups = tuple(group for group in GROUPS if group not in gaps)
    own_count = len(set(names) - POINTS.keys())
    return Coverage(len(asked) - len(left_out), len(asked), own_count, whole_groups, left_out)


class Step(NamedTuple):
    """One group of a check on the way round: its points, and whether each of them was looked at."""

    group: str
    title: str
    points: tuple[Point, ...]
    is_done: bool


def steps_of_walk(points: Sequence[Point], looked_at: Collection[str]) -> list[Step]:
    """The groups that have any of ``points``, in the order of the walk; ``looked_at`` are names of points."""
    groups = {group: tuple(point for point in points if point.group == group) for group in GROUPS}
    return [
        Step(group, GROUPS[group], here, all(point.name in looked_at for point in here))
        for group, here in groups.items()
        if here
    ]


def next_step(steps: Sequence[Step]) -> Step | None:
    """The first group that was not looked at yet; None once the whole car was."""
    return next((step for step in steps if not step.is_done), None)
