"""What a mail says first, and what lies ahead in the twelve weeks from the day it is sent."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from config.look.mail import sign
from config.showing import unbroken
from fleet.core.due import State
from fleet.queries import DueLine
from fleet.wording import distance
from instructors.models import Member

_WEEKS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth")
WEEKS = (*_WEEKS, "eleventh", "twelfth")
_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


class Road(NamedTuple):
    """The weeks from today: a sign for each, empty where nothing falls due, and the same in words."""

    signs: list[str]
    words: str


def verdict(line: DueLine, recipient: Member, also: int) -> str:
    """The worst item in a sentence, and how many more things there are: "QA51 ABC has its MOT due in 7 days." """
    more = f" {_counted(also)} more thing{' needs' if also == 1 else 's need'} seeing to." if also else ""
    days_left = line.status.days_left
    if days_left is None:
        return f"It is not known when {_has(line, recipient)} due.{more}"
    due = "" if days_left < 0 else "due "
    has = _has(line, recipient)
    return f"{has[:1].upper()}{has[1:]} {due}{distance(days_left)}.{more}"


def stopped_words(shown_marks: Iterable[str]) -> str:
    """That these cars are off the road, in a sentence; empty if there are none."""
    cars = [unbroken(mark) for mark in dict.fromkeys(shown_marks)]
    if not cars:
        return ""
    are, them = ("is", "it") if len(cars) == 1 else ("are", "them")
    return f"{_listed(cars)} {are} off the road: no lesson may be given in {them} until this is put right."


def road(lines: Iterable[DueLine]) -> Road:
    """What falls due in the twelve weeks, of the lines of one recipient."""
    by_week: dict[int, list[DueLine]] = {week: [] for week in range(len(WEEKS))}
    for line in lines:
        days_left = line.status.days_left
        if days_left is not None and days_left >= 0 and days_left // 7 in by_week:
            by_week[days_left // 7].append(line)
    busy = {week: found for week, found in by_week.items() if found}
    one_of = len({line.subject.key for found in busy.values() for line in found}) == 1
    parts = [
        f"{_listed([_named(line, one_of) for line in found])} in the {WEEKS[week]}" for week, found in busy.items()
    ]
    if not parts:
        return Road([""] * len(WEEKS), "Nothing that is recorded falls due in the twelve weeks from today.")
    signs = [line_sign(found[0]) if found else "" for found in by_week.values()]
    return Road(signs, f"Twelve weeks from today: {', '.join(parts)}.")


def line_sign(line: DueLine) -> str:
    """The sign of an item's state, as mails show it."""
    status = line.status
    is_stopping = line.kind.stops_car and status.state is State.OVERDUE
    return sign("off" if is_stopping else status.state, status.days_left, line.kind.notice_days)


def _has(line: DueLine, recipient: Member) -> str:
    """Who has what: "QA51 ABC has its MOT", "you have your ADI registration"."""
    who = line.subject.words
    if line.subject.car:
        return f"{unbroken(who)} has its {_name(line)}"
    is_own = line.subject.member == recipient
    return f"you have your {_name(line)}" if is_own else f"{who} has the {_name(line)}"


def _named(line: DueLine, one_of: bool) -> str:
    return _name(line) if one_of else f"{_name(line)} of {line.subject.words}"


def _name(line: DueLine) -> str:
    """Its name within a sentence; a member's own words stay as they are."""
    return line.kind.words_within if line.title == line.kind.words else line.title


def _listed(words: Sequence[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _counted(count: int) -> str:
    return _COUNTS[count].capitalize() if count < len(_COUNTS) else str(count)
