"""How the made-up cars are looked after: checks, defects, and confirmed points."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from costing.demo.cast import Instructor
from fleet.core.points import Build, points_for
from fleet.core.requirements import TUITION_COVER

_ONE_DAY = timedelta(days=1)
_OWN_POINT = "own-roof-sign"


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

    ``last_check`` and ``first_check`` are days ago. ``confirmed`` are points of readiness.
    """

    last_check: int
    first_check: int = 9_999
    faults: tuple[FoundDefect, ...] = ()
    advisories: tuple[str, ...] = ()
    confirmed: tuple[str, ...] = ("tuition_insurance", "l_plates", "second_mirror", "badge_displayed")


_CHIP = FoundDefect(61, "watch", "Chip in the windscreen, low on the left, smaller than a coin", "glass")
UPKEEP = {
    "QA69HVA": Upkeep(
        2,
        faults=(_CHIP,),
        advisories=("Slight play in the right front suspension joint",),
        confirmed=("tuition_insurance", "l_plates", "second_mirror"),
    ),
    "QA18HVB": Upkeep(
        1,
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
    "QA22HVC": Upkeep(4, confirmed=("l_plates", "second_mirror", "badge_displayed")),
    "QA23HVD": Upkeep(
        3,
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
    "QA73HVE": Upkeep(34),
    "QA12HVF": Upkeep(
        2,
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
    "QA24HVG": Upkeep(5),
    "QA17HVH": Upkeep(16, faults=(FoundDefect(90, "watch", "Oil weeps from below the engine", "engine_oil"),)),
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
            grade=of.grade if point == TUITION_COVER else "",
        )


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
