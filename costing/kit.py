"""The kit: what a member's own phone keeps, so that it logs and asks as the book does when there is no signal."""

from base64 import b64encode
from collections.abc import Sequence
from datetime import date
from secrets import token_bytes
from typing import Any

from config.showing import whole
from costing.core.catalogue.costs import ENTRY_CATEGORIES
from costing.core.cover import LOGGED_LATE_DAYS
from costing.queries.cover import cover_terms
from costing.queries.lately import categories_of, loggable_cars, usual_prices
from costing.queries.plausible import limits_of
from costing.queries.weeks import LatelyTaught
from costing.wording import fill_words
from costing.wording.doubts import DOUBT_WORDS
from fleet.core.registration import show
from fleet.models import Car
from fleet.queries import due_report, readings_of
from fleet.wording import reasons_in_short
from instructors.models import Member
from instructors.queries import cooperative, member_key, member_seal

#: The kinds of entry that have a log page.
_LOGGED = ("fill", "cost", "week")


def kit_of(member: Member, today: date) -> dict[str, Any]:
    """All of one member's kit but the token of the request, ready for JSON. The phone wipes it at sign-out.

    ``seal`` seals what waits to be sent. A script keeps it as a key that no script can read again. It is masked anew
    each time, as Django does with a token: the length of a compressed answer tells nothing of it.
    """
    return {
        "member": member_key(member),
        "seal": b64encode(_masked(member_seal(member))).decode(),
        "today": today.isoformat(),
        **logging_kit(member, today),
        **plausible_kit(member, today),
    }


def _masked(secret: bytes) -> bytes:
    mask = token_bytes(len(secret))
    return mask + bytes(one ^ other for one, other in zip(mask, secret, strict=True))


def logging_kit(member: Member, today: date) -> dict[str, Any]:
    """What the log forms say of a member's cars, categories, covers and weeks of lessons; some ten queries."""
    times = loggable_cars(member, today)
    cars, taught = list(times), LatelyTaught(member, times, today)
    return {
        "cars": _cars(member, cars, today),
        "categories": categories_of(member, today),
        "covers": _covers(member, cars, today),
        "week": {"minutes": taught.minutes_a_lesson, "cars": {car.registration: _week(taught, car) for car in cars}},
    }


def plausible_kit(member: Member, today: date) -> dict[str, Any]:
    """What the member's records allow of the next entry of each car, by kind, and the words of what is asked."""
    cars = loggable_cars(member, today)
    limits = {kind: {car.registration: limits_of(kind, member, car, today, today) for car in cars} for kind in _LOGGED}
    return {"limits": limits, "words": {kind: DOUBT_WORDS[kind] for kind in _LOGGED}}


def _cars(member: Member, cars: Sequence[Car], today: date) -> list[dict[str, Any]]:
    kept = [car for car in cars if car.keeper_id == member.pk]
    prices, odometers = usual_prices(member, cars, today), readings_of([car.pk for car in kept], since=today)
    report = due_report(today, cars=[car for car in cars if car in kept], members=[member])
    stopped = {due.car.pk: ", ".join(reasons_in_short(due.reasons)) for due in report.cars if due.off_the_road}
    found = []
    for car in cars:
        odometer = odometers.get(car.pk)
        last = odometer.last_on if odometer else None
        found.append(
            {
                "mark": car.registration,
                "shown": show(car.registration),
                "fuel": car.fuel,
                "words": fill_words([car.fuel])._asdict(),
                "lately": f"{whole(odometer.at(last))}, {last.day} {last:%B}" if odometer and last else "",
                "stopped": stopped.get(car.pk, ""),
                "usual": " or ".join(f"{price}p" for price in prices[car].values()),
            }
        )
    return found


def _covers(member: Member, cars: Sequence[Car], today: date) -> dict[str, Any]:
    """What costs usually cover: by category for any car, and what the book has of each car's cover and agreement."""
    rules = {
        row.name: {"covers": row.covers, "months": row.usual_months, "tuition": row.asks_tuition}
        for row in ENTRY_CATEGORIES
        if row.covers
    }
    terms = cover_terms(member, cars, today)
    return {
        "categories": rules,
        "late": LOGGED_LATE_DAYS,
        "miles": cooperative().tyre_life_miles,
        "cars": {car.registration: terms[car] for car in cars},
    }


def _week(taught: LatelyTaught, car: Car) -> dict[str, Any]:
    week = taught.week(car)
    return {
        "pattern": [day.proposed for day in week.days],
        "logged": {day.isoformat(): lessons for day, lessons in taught.logged(car).items()},
        "own": taught.own_spans(car),
    }
