"""What a comparison rests on, in words: each running cost with its source, and how the car will be used."""

from fractions import Fraction
from typing import NamedTuple

from config.showing import pence_as_pounds, whole
from costing.choosing.core.case import Case, Use
from costing.choosing.pictures import wording
from costing.core.catalogue.running import AS_ASKED, RunningPart, When
from costing.core.money import to_places
from costing.models import Comparison


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
    When.BY_SET: "{} for {miles} miles",
    When.BY_MILE: "{} a mile",
}


def running_sources(comparison: Comparison, case: Case) -> list[Source]:
    """Every running cost above zero."""
    return [
        Source(part.missing, _amount(part, case), comparison.sources.get(part.key, "typed in"))
        for part in AS_ASKED
        if case.running.of(part)
    ]


def _amount(part: RunningPart, case: Case) -> str:
    figure = case.running.of(part)
    if part.when is When.PREMIUMS:
        shown = ", then ".join(pence_as_pounds(premium) for premium in figure)
    else:
        shown = f"{to_places(figure, 1)}p" if part.when is When.BY_MILE else pence_as_pounds(figure)
    miles = whole(int(case.running.life_of(part))) if part.life_key else ""
    return _AMOUNTS[part.when].format(shown, miles=miles, mot_age=wording.mot_age(case.use.nation))


def use_in_words(use: Use) -> str:
    """How the car will be used, in one sentence."""
    return (
        f"{whole(int(use.miles_per_year))} miles a year, {whole(int(use.private_miles_per_year))} of them private; "
        f"{_plain(use.lesson_hours_per_week)} lesson hours a week in {_plain(use.weeks_taught_per_year)} weeks a year, "
        f"at {pence_as_pounds(use.lesson_hour_price)} an hour."
    )


def _plain(value: Fraction) -> str:
    return f"{to_places(value, 2).normalize():f}"
