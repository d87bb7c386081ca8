"""What the pages of the walkaround check say: how many points, what is open already, and what the keys do."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from config import showing
from fleet.core.defects import Severity
from fleet.core.points import CHECK_EVERY_DAYS, Fits, NextCheck, Step
from fleet.models import Defect, FuelKind, Transmission

#: How long a defect has been known, and the silhouette before it.
_KNOWN = {
    Severity.DANGEROUS: ("off", "do not drive: since {day}"),
    Severity.BEFORE_NEXT_LESSON: ("overdue", "before the next lesson: since {day}"),
    Severity.WATCH: ("due", "watched since {day}"),
}


class KnownDefect(NamedTuple):
    """A defect that is open already: what it is, since when, and the silhouette before it."""

    key: int
    words: str
    since: str
    state: str


class DrawnStep(NamedTuple):
    """One group on the drawing of the car: its number, and whether it is done, in hand (now) or to come."""

    name: str
    number: int
    state: str


def known_defect(defect: Defect, today: date) -> KnownDefect:
    """An open defect, as the check reminds of it."""
    state, since = _KNOWN[Severity(defect.severity)]
    day = showing.near_day(defect.found_on, today)
    return KnownDefect(defect.pk, defect.description, since.format(day=day), state)


def points_words(count: int) -> str:
    """How many points a group has: "five points"."""
    return "one point" if count == 1 else f"{showing.in_words(count, 12)} points"


def key_words(count: int) -> list[str]:
    """What the key of a group of ``count`` points says while nothing is wrong, then with one point set aside, ..."""
    return [_key_words(count, aside) for aside in range(count + 1)]


def _key_words(count: int, aside: int) -> str:
    left = count - aside
    if not left:
        return "Record this and go on"
    if not aside:
        return {1: "It is fine", 2: "Both are fine"}.get(count, f"All {showing.in_words(count, 12)} are fine")
    return "The other one is fine" if left == 1 else f"The other {showing.in_words(left, 12)} are fine"


def drawn_steps(steps: Sequence[Step], here: Step) -> list[DrawnStep]:
    """The groups as the drawing of the car has them."""
    return [
        DrawnStep(step.group, number, "now" if step == here else "done" if step.is_done else "")
        for number, step in enumerate(steps, 1)
    ]


def drawing_words(steps: Sequence[Step], here: Step) -> str:
    """The title of the drawing: "The car from above: round the outside done, under the bonnet now, ... to come"."""
    done = [step.title.lower() for step in steps if step.is_done and step != here]
    to_come = [step.title.lower() for step in steps if not step.is_done and step != here]
    parts = [f"{_listed(done)} done"] if done else []
    parts.append(f"{here.title.lower()} now")
    parts += [f"{_listed(to_come)} to come"] if to_come else []
    return f"The car from above: {', '.join(parts)}"


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def cars_words(fits: Fits) -> str:
    """Which cars a point applies to, as the list of points says it; empty for any car."""
    kinds = [FuelKind(fuel).label.lower() for fuel in FuelKind.values if fuel in fits.fuels]
    if fits.transmission:
        kinds.append(f"{Transmission(fits.transmission).label.lower()} gearbox")
    if fits.with_dual_controls:
        kinds.append("with dual controls")
    if fits.with_soft_top:
        kinds.append("with a soft top")
    return ", ".join(kinds)


def took_words(seconds: int) -> str:
    """How long a check took: "40 seconds", "4 minutes"."""
    if seconds < 60:
        return f"{seconds} second{'' if seconds == 1 else 's'}"
    minutes = (seconds + 30) // 60
    return f"{minutes} minute{'' if minutes == 1 else 's'}"


def last_check_words(check: NextCheck) -> str:
    """When a car was last checked and when the next check is due."""
    if check.days_since is None:
        return "No check is in the book yet."
    ago = {0: "today", 1: "yesterday"}.get(check.days_since, f"{check.days_since} days ago")
    link = "Next check due" if check.days_since <= CHECK_EVERY_DAYS else "The next check was due"
    return f"Last checked {ago}. {link} on {showing.day(check.due_on)}."
