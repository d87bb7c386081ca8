"""What a comparison rests on, in words: each running cost with its source, and how the car will be used."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from config.showing import percent, whole
from costing.choosing.core.case import Fuel, Running, Use
from costing.choosing.pictures import wording
from costing.core.catalogue.running import AS_ASKED, RunningPart, When
from costing.core.money import to_places


class Source(NamedTuple):
    """One running cost: what it is for, how much it is, and where the figure came from."""

    label: str
    amount: str
    origin: str


#: How the amount of each part reads, by when it is paid; {} is its figure.
_AMOUNTS = {
    When.AT_START: "{} once",
    When.PREMIUMS: "{}",
    When.YEAR_STARTS: "{} a year",
    When.YEAR_ENDS_WITH_MOT: "{} each, once the car is {mot_age} years old",
    When.MONTHLY: "{} a year",
    When.BY_SET: "{} a set",
    When.BY_MILE: "{}",
}


def running_sources(running: Running, sources: Mapping[str, str], nation: str) -> list[Source]:
    """Every running cost that a table tells, with where it came from."""
    return [
        Source(part.missing, _amount(part, running, nation), sources.get(part.key, "typed in"))
        for part in AS_ASKED
        if getattr(running, part.field) is not None
    ]


def _amount(part: RunningPart, running: Running, nation: str) -> str:
    told: Any = getattr(running, part.field)
    if part.when is When.PREMIUMS:
        figure = ", then ".join(wording.quoted(premium) for premium in told)
    elif part.when is When.BY_MILE:
        figure = ", and ".join(_fuel(one) for one in told)
    else:
        figure = wording.quoted(told)
    words = _AMOUNTS[part.when].format(figure, mot_age=wording.mot_age(nation))
    if part.life_key and (miles := getattr(running, part.life_key)) is not None:
        words += f", for {whole(int(miles))} miles"
    if part.given_back_key and (share := getattr(running, part.given_back_key)) is not None:
        words += f"; {percent(plain(share * 100))} of the months left comes back"
    return words


def _fuel(fuel: Fuel) -> str:
    a_mile = f"{to_places(fuel.pence_per_mile, 1)}p a mile"
    on = "" if fuel.share == 1 else f" on {percent(plain(fuel.share * 100))} of the miles"
    if fuel.unit == "mile":
        return f"{a_mile}{on}"
    economy = f"{plain(fuel.economy)} {'mpg' if fuel.unit == 'litre' else 'miles a kWh'}"
    sold_by = "litre" if fuel.unit == "litre" else "kWh"
    return f"{a_mile}{on} ({economy} at {plain(fuel.price)}p a {sold_by})"


def use_in_words(use: Use) -> str:
    """How the car will be used, in one sentence."""
    return (
        f"{whole(int(use.miles_per_year))} miles a year, {whole(int(use.private_miles_per_year))} of them private; "
        f"{plain(use.lesson_hours_per_week)} lesson hours a week in {plain(use.weeks_taught_per_year)} weeks a year, "
        f"at {wording.quoted(use.lesson_hour_price)} an hour."
    )


def plain(value: Fraction) -> str:
    """A number with as many decimals as it needs, at most two."""
    return f"{to_places(value, 2).normalize():f}"
