"""How the made-up cars are looked after: checks, defects, tyres, and confirmed points."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from costing.demo.cast import Instructor
from fleet.core.points import Build, points_for

_ONE_DAY = timedelta(days=1)
_OWN_POINT = "own-roof-sign"
_WHEELS = ("front_left", "front_right", "rear_left", "rear_right")
#: The mm of tread that an axle loses in 1,000 miles, and how many days ago the tread was measured.
_WEAR = {"front": 0.28, "rear": 0.15}
_MEASURED = (150, 100, 50, 6)
_NEW_TREAD = 8.0


class Later(NamedTuple):
    """A later step of a defect, ``days`` after the one before; ``done_by`` if it was put right."""

    days: int
    state: str
    severity: str
    words: str
    done_by: str = ""


@dataclass(frozen=True)
class FoundDefect:
    """A defect found ``days_ago``, and its later steps."""

    days_ago: int
    severity: str
    words: str
    point: str = ""
    steps: tuple[Later, ...] = ()


@dataclass(frozen=True)
class Upkeep:
    """How one car is looked after.

    ``last_check``, ``first_check``, ``rotated`` and ``replaced`` are days ago. ``tread`` is the mm of all four tyres
    150 days ago (0: nobody measures them), last measured at least ``unmeasured`` days ago. ``confirmed`` are points of
    readiness.
    """

    last_check: int
    first_check: int = 9_999
    tread: float = 0.0
    unmeasured: int = 0
    rotated: int = 0
    replaced: int = 0
    faults: tuple[FoundDefect, ...] = ()
    advisories: tuple[str, ...] = ()
    confirmed: tuple[str, ...] = ("tuition_insurance", "l_plates", "second_mirror", "badge_displayed")


_CHIP = FoundDefect(61, "watch", "Chip in the windscreen, low on the left, smaller than a coin", "glass")
UPKEEP = {
    "QA69HVA": Upkeep(
        2,
        tread=6.6,
        faults=(_CHIP,),
        advisories=("Slight play in the right front suspension joint",),
        confirmed=("tuition_insurance", "l_plates", "second_mirror"),
    ),
    "QA18HVB": Upkeep(
        1,
        tread=5.7,
        faults=(
            FoundDefect(
                1,
                "before_next_lesson",
                "The rubber of the dual brake pedal is torn and comes off",
                "dual_pedals",
                (Later(0, "in_hand", "before_next_lesson", "A new one comes tomorrow"),),
            ),
        ),
        advisories=("Rear brake discs corroded at the edge", "Exhaust mounting worn"),
    ),
    "QA22HVC": Upkeep(4, tread=7.1, rotated=75, confirmed=("l_plates", "second_mirror", "badge_displayed")),
    "QA23HVD": Upkeep(
        3,
        tread=6.9,
        faults=(
            FoundDefect(
                120,
                "watch",
                "One brake lamp is dim",
                "lamps",
                (
                    Later(1, "open", "before_next_lesson", "It does not come on at all now"),
                    Later(1, "closed", "before_next_lesson", "New bulb; both looked at", "Hollinvale Garage"),
                ),
            ),
        ),
    ),
    "QA73HVE": Upkeep(34, tread=7.0, unmeasured=91),
    "QA12HVF": Upkeep(
        2,
        tread=6.2,
        replaced=110,
        faults=(
            FoundDefect(
                2,
                "dangerous",
                "The brake pedal sinks slowly under the foot when held",
                "brakes",
                (Later(1, "waiting", "dangerous", "New seals in the main cylinder, bled", "Hollinvale Garage"),),
            ),
            FoundDefect(
                200,
                "before_next_lesson",
                "The left mirror does not stay where it is set",
                "mirrors",
                (
                    Later(2, "closed", "before_next_lesson", "Its joint was tightened", "Hollinvale Garage"),
                    Later(40, "open", "watch", "Moves again on rough roads"),
                ),
            ),
        ),
        advisories=("Rear brake pipes lightly corroded",),
    ),
    "QA24HVG": Upkeep(5, tread=7.4),
    "QA17HVH": Upkeep(
        16, tread=6.4, faults=(FoundDefect(90, "watch", "Oil weeps from below the engine", "engine_oil"),)
    ),
    "QA15HVI": Upkeep(400, confirmed=()),
}

#: Writes a record to its file: takes the file's name, then the columns; returns the reference if there is one.
Write = Callable[..., str]


def write_own_point(write: Write) -> None:
    """Write the one point that this co-op has added to the walkaround check."""
    words = {"words": "Roof sign", "look_for": "Fixed on both sides; nothing loose, nothing cracked."}
    write("points", name=_OWN_POINT, group="tuition", **words)


def write_condition(of: Instructor, start: date, today: date, mot_on: date | None, write: Write) -> None:
    """Write the condition of one car from its first day to today; ``mot_on`` is the day of its last MOT test."""
    upkeep = UPKEEP[of.registration]
    chance = Random(of.odometer)  # noqa: S311 - made-up figures, not secrets
    day = max(start + _ONE_DAY, today - timedelta(days=upkeep.first_check))
    last = today - timedelta(days=upkeep.last_check)
    while day < last - 3 * _ONE_DAY:
        _check(of, day, chance, write, may_break_off=True)
        day += timedelta(days=chance.choice((6, 7, 7, 7, 8, 14)))
    check = _check(of, last, chance, write) if last >= start else ""
    for fault in upkeep.faults:
        found_on = today - timedelta(days=fault.days_ago)
        seen = check if found_on == last else _check(of, found_on, chance, write)
        _defect(of, found_on, fault, write, found_by="check", check_ref=seen)
    if mot_on is not None:
        for words in upkeep.advisories:
            _defect(of, mot_on, FoundDefect(0, "watch", words), write, found_by="mot")
    for point in upkeep.confirmed:
        on = today - timedelta(days=100)
        write(
            "confirmations",
            registration=of.registration,
            point=point,
            confirmed_on=on,
            is_met="true",
            by_email=of.email,
        )
    if upkeep.tread:
        _tyres(of, upkeep, today, write)


def _check(of: Instructor, on: date, chance: Random, write: Write, *, may_break_off: bool = False) -> str:
    """Write a check of all points, or now and then one that was broken off before the bonnet was opened."""
    is_whole = chance.random() >= 0.15 or not may_break_off
    asked = points_for(Build(of.fuel, of.transmission, dual_controls=True, soft_top=False))
    names = [point.name for point in asked if is_whole or point.group == "outside"]
    return write(
        "checks",
        registration=of.registration,
        member_email=of.email,
        checked_on=on,
        points=" ".join([*names, _OWN_POINT] if is_whole else names),
        seconds=(150 if is_whole else 60) + on.toordinal() % 97,
        whole="true" if is_whole else "false",
    )


def _defect(of: Instructor, on: date, fault: FoundDefect, write: Write, **found: str) -> None:
    story = [(on, Later(0, "open", fault.severity, ""))]
    for later in fault.steps:
        story.append((story[-1][0] + timedelta(days=later.days), later))
    day, last = story[-1]
    ref = write(
        "defects",
        registration=of.registration,
        reported_by_email=of.email,
        found_on=on,
        severity=last.severity,
        words=fault.words,
        point=fault.point,
        state=last.state,
        closed_on=day if last.state == "closed" else "",
        **found,
    )
    for number, (happened_on, step) in enumerate(story, start=1):
        write(
            "defect_steps",
            ref=ref,
            number=number,
            happened_on=happened_on,
            state=step.state,
            severity=step.severity,
            words=step.words,
            done_by=step.done_by,
            by_email=of.email,
        )


def _tyres(of: Instructor, upkeep: Upkeep, today: date, write: Write) -> None:
    """Wear the four tyres by a usual week's miles; measure, rotate and replace them on their days."""
    depth = dict.fromkeys(_WHEELS, upkeep.tread)
    before = _MEASURED[0]
    for days_ago in sorted({*_MEASURED, upkeep.rotated, upkeep.replaced} - {0}, reverse=True):
        miles = of.weekly_miles * (before - days_ago) / 7
        depth = {wheel: mm - _WEAR[wheel.partition("_")[0]] * miles / 1000 for wheel, mm in depth.items()}
        before, on = days_ago, today - timedelta(days=days_ago)
        moved = {"registration": of.registration, "moved_on": on}
        if days_ago == upkeep.rotated:
            # Front and rear change places on each side.
            came_from = dict(zip(_WHEELS, (*_WHEELS[2:], *_WHEELS[:2]), strict=True))
            depth = {wheel: depth[other] for wheel, other in came_from.items()}
            for wheel, other in came_from.items():
                write("tyre_moves", wheel=wheel, came_from=other, **moved)
        if days_ago == upkeep.replaced:
            for wheel in _WHEELS[:2]:
                depth[wheel] = _NEW_TREAD
                write("tyre_moves", wheel=wheel, came_from="", **moved)
        if days_ago in _MEASURED and days_ago >= upkeep.unmeasured:
            for wheel, mm in depth.items():
                bands = {"inner": f"{mm:.1f}", "centre": f"{mm + 0.2:.1f}", "outer": f"{mm + 0.1:.1f}"}
                write("treads", registration=of.registration, wheel=wheel, read_on=on, **bands)
