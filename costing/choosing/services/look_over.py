"""What was found when the car of an offer was looked over: out of its row, and into it."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from config.history import lock
from costing.choosing.core.look_over import LookOver, Work
from costing.choosing.core.mot_history import MotTest
from costing.models import Offer
from instructors.models import Member


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


@transaction.atomic
def save_look_over(*, by: Member, offer: Offer, found: LookOver) -> None:
    """Note what was found of an offer's car, in place of what was noted before.

    Raises ValidationError once the offer is accepted: what was known before signing is kept as it was.
    """
    current = lock(offer, "comparison")
    if current.comparison.member_id != by.pk:
        raise PermissionError("an offer is looked over by the member who compares it")
    if current.chosen_on is not None:
        raise ValidationError("You accepted this offer, so what you found before is kept as it was.", code="accepted")
    current.look_over = {
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
    current.save(update_fields=["look_over"])
