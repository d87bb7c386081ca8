"""What the home page says in one line of the co-op, once there is anything to say."""

from collections.abc import Iterable
from datetime import date

from config.showing import in_words
from costing.core.group import LOWEST_MINIMUM, has_standing
from costing.queries import last_logged
from costing.wording.lines import Line
from fleet.core.quiet import is_long_quiet
from fleet.models import Car
from instructors.models import Member


def quiet_line(cars: Iterable[Car], on: date, viewer: Member) -> Line | None:
    """How many who keep one of ``cars`` in service have logged neither fill, cost nor lessons for two weeks; one query.

    Who that is it does not say: each of them is told by mail. Among fewer than five besides ``viewer`` it would be
    plain who it is, so nothing is said; nor are those counted who have no standing yet, as in the group's figures, for
    whoever invites can invent them. Whoever brought a car since is not counted either.
    """
    heard: dict[int, list[date]] = {}
    for car in cars:
        if car.keeper != viewer and car.keeper.belongs_on(on) and has_standing(car.keeper.joined_on, on):
            begun = [day for day in (car.in_service_from, car.keeper.joined_on) if day]
            heard.setdefault(car.keeper_id, []).extend(begun)
    if len(heard) < LOWEST_MINIMUM:
        return None
    logged = last_logged(heard)
    count = sum(is_long_quiet(on, [*days, logged.get(pk, date.min)]) for pk, days in heard.items())
    if not count:
        return None
    words = f"{in_words(count)} {'member has' if count == 1 else 'members have'} logged nothing for two weeks"
    return Line(words[:1].upper() + words[1:], "", "entries")
