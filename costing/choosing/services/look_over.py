"""What was found when the car of an offer was looked over: as its row keeps it, and out of that again."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from costing.choosing.core.look_over import LookOver, Work
from costing.choosing.core.mot_history import MotTest
from costing.models import Offer


def look_over_of(offer: Offer) -> LookOver:
    """What is noted of an offer's car; nothing if nobody has looked at it."""
    noted: Mapping[str, Any] = offer.look_over
    return LookOver(
        noted.get("answers", {}),
        noted.get("keepers"),
        tuple(
            MotTest(date.fromisoformat(test["on"]), test["passed"], test["miles"], tuple(test["advisories"]))
            for test in noted.get("tests", ())
        ),
        tuple(Work(work["words"], work["pence"]) for work in noted.get("work", ())),
    )


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
