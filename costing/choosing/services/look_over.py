"""What was found when the car of an offer was looked over: as its row keeps it, and out of that again."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date
from typing import Any, TypeVar

from costing.choosing.core.look_over import POINTS, LookOver, Work
from costing.choosing.core.mot_history import MotTest
from costing.models import Offer

Row = TypeVar("Row", MotTest, Work)


def look_over_of(offer: Offer) -> LookOver:
    """What is noted of an offer's car, as far as that can be read; nothing if nobody has looked at it."""
    told: Any = offer.look_over
    noted: Mapping[str, Any] = told if isinstance(told, Mapping) else {}
    answers, keepers = noted.get("answers"), noted.get("keepers")
    return LookOver(
        {name: is_yes for name, is_yes in answers.items() if name in POINTS and isinstance(is_yes, bool)}
        if isinstance(answers, Mapping)
        else {},
        _count(keepers),
        tuple(_readable(_test, noted.get("tests"))),
        tuple(_readable(_work, noted.get("work"))),
    )


def _readable(read: Callable[[Any], Row], stored: Any) -> Iterator[Row]:
    """The rows of a stored list that can be read."""
    for row in stored if isinstance(stored, list) else ():
        # A row that isn't one, or a day that isn't in the calendar.
        with suppress(KeyError, TypeError, ValueError):
            yield read(row)


def _test(row: Any) -> MotTest:
    lines = tuple(str(line) for line in row["advisories"])
    return MotTest(date.fromisoformat(row["on"]), row["passed"] is True, _count(row["miles"]), lines)


def _work(row: Any) -> Work:
    return Work(str(row["words"]), _count(row["pence"]))


def _count(stored: Any) -> int | None:
    """A whole number from 0; None for anything else, as for what isn't noted."""
    return stored if isinstance(stored, int) and not isinstance(stored, bool) and stored >= 0 else None


def look_over_for_store(found: LookOver) -> dict[str, Any]:
    """What was found, as a row keeps it."""
    return {
        "answers": dict(found.answers),
        "keepers": found.keepers,
        "tests": [
            {
                "on": test.tested_on.isoformat(),
                "passed": test.has_passed,
                "miles": test.miles,
                "advisories": list(test.advisories),
            }
            for test in found.tests
        ],
        "work": [work._asdict() for work in found.work],
    }
