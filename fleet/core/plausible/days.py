"""Whether the day of an entry can be right: not yet to come, and not long before what was logged last."""

from collections.abc import Iterator
from datetime import date

from fleet.core.plausible.checks import FAR, Candidate, Check
from fleet.core.plausible.doubt import Limits, Typed
from fleet.core.plausible.odometer import days_between
from fleet.core.plausible.slips import DIGIT, OTHER_DIGIT, days_meant

_MONTHS = 12
#: Whoever logs what they forgot goes back so many days, as a rule. Common practice, no source.
_DAYS_BACK = 60
#: A day so far back is rather one with day and month swapped, if that is so near today.
_TURNED_BACK, _TURNED_NEAR = 14, 10
#: So far back the first entry of all goes, as a rule.
FIRST_BACK = 200
#: So far back no entry goes without being asked about: five years.
_MOST_DAYS_BACK = 5 * 366


def day_checks(typed: Typed, limits: Limits, field: str) -> Iterator[Check]:
    """The checks of the day in ``field``: against today, and the day of what was logged last if that says anything."""
    day, today, latest = typed[field], limits["today"], limits["latest"]
    figures: dict[str, int | str] = {"day": day, "today": today}
    yield Check(field, "day_ahead", days_between(day, today), 0, 0, FAR, (field,), figures, False)
    yield Check(field, "day_old", days_between(day, today), -FAR, 0, _MOST_DAYS_BACK, (field,), figures)
    if latest is not None:
        back = days_between(day, latest)
        most = _TURNED_BACK if _is_turned(day, today) else _DAYS_BACK
        yield Check(field, "day_back", back, -FAR, 0, most, (field,), {**figures, "latest": latest})
    elif first := limits.get("first"):
        yield Check(field, "day_first", days_between(first, day), 0, FIRST_BACK, FAR, (field,), figures)


def _is_turned(day: str, today: str) -> bool:
    """Whether with day and month swapped it would be one of the last days."""
    year, month, number = day.split("-")
    turned = f"{year}-{number}-{month}"
    return int(number) <= _MONTHS and turned != day and 0 <= days_between(turned, today) <= _TURNED_NEAR


def day_candidates(typed: Typed, limits: Limits, field: str) -> Iterator[Candidate]:
    """The days that may be meant, none of them to come; at last today, if the day itself is odd."""
    today, is_odd = limits["today"], any(not one.is_met for one in day_checks(typed, limits, field))
    for rank, meant in days_meant(date.fromisoformat(typed[field])):
        if meant.isoformat() <= today and (is_odd or rank < DIGIT):
            yield Candidate(rank, {field: meant.isoformat()})
    if is_odd:
        yield Candidate(OTHER_DIGIT, {field: today})
