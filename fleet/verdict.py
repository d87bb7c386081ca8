"""The verdict on a car for lessons, in sentences, worst first."""

from typing import NamedTuple

from config.showing import day
from fleet.core.due import State
from fleet.core.registration import show
from fleet.queries import CarDue, DueLine
from fleet.wording import distance


class Sentence(NamedTuple):
    """One sentence of a verdict.

    ``state`` is that of its silhouette, whose ring ``days_left`` and ``notice_days`` fill; ``place`` is the part of
    the car's page that it is about.
    """

    words: str
    state: str
    place: str = "due"
    days_left: int | None = None
    notice_days: int = 30


def verdict_of(due: CarDue) -> list[Sentence]:
    """What is to be said of a car; that nothing is against it only if nothing recorded asks for anything."""
    mark = show(due.registration)
    if due.off_the_road:
        return [Sentence(f"{mark} is off the road.", "off", "verdict")]
    by_state = {state: [line for line in due.items if line.status.state is state] for state in State}
    found = [_not_known(by_state[State.UNKNOWN])] if by_state[State.UNKNOWN] else []
    found += [_of_item(line) for state in (State.OVERDUE, State.DUE, State.BOOKED) for line in by_state[state]]
    if count := len(due.condition.defects):
        found.append(_watched(count))
    return found or [Sentence(f"Nothing against {mark}.", "later")]


def _not_known(lines: list[DueLine]) -> Sentence:
    return Sentence(f"Not known: {', '.join(line.title for line in lines)}.", "unknown")


def _watched(count: int) -> Sentence:
    # Its ring is half full: nobody knows how long a watched defect lasts.
    return Sentence(f"{count} defect{'s' if count > 1 else ''} to keep an eye on.", "due", "defects", days_left=15)


def _of_item(line: DueLine) -> Sentence:
    status, kind = line.status, line.kind
    words = f"{line.title} {_how(line)}."
    return Sentence(words, status.state.value, days_left=status.days_left, notice_days=kind.notice_days)


def _how(line: DueLine) -> str:
    """How a due item stands, after its title: "runs out in 24 days"."""
    status, kind = line.status, line.kind
    if status.state is State.BOOKED and status.booked_for:
        return f"booked for {day(status.booked_for)}"
    days_left = status.days_left or 0
    if days_left < 0:
        return distance(days_left)
    return f"{'runs out' if kind.is_cover or kind.is_mot else 'due'} {distance(days_left)}"
