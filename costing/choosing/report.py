"""One report on offers for the page, the decision sheet and the command, and what the pages always look at.

The usual events and ranges are assumptions. None has a source: they are round figures, and each page that shows them
says so.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from costing.choosing.core.case import Case, Uncertain, WeeksOff, WhatIf
from costing.choosing.core.figures import Figures, ScenarioResult, compare, what_if
from costing.choosing.core.inputs import bears_on
from costing.choosing.core.odds import Odds, odds
from costing.choosing.core.switching import Switch, switching_values
from costing.choosing.document.reading import Document
from costing.core.catalogue.running import REPAIRS

_SIX_WEEKS_OFF = WeeksOff(from_week=20, weeks=6)
_LEAVING = {
    9: "You leave after nine months",
    6: "A trainee who fails the first attempt leaves after 6 months",
    12: "A trainee who fails the second attempt leaves after 12 months",
    18: "A trainee who fails the third attempt leaves after 18 months",
}
#: The least and the most, as shares of the planned figure.
_VALUE, _REPAIRS, _MILES = (
    (Fraction(80, 100), Fraction(110, 100)),
    (Fraction(1, 2), Fraction(5, 2)),
    (Fraction(80, 100), Fraction(120, 100)),
)


@dataclass(frozen=True)
class OffersReport:
    """Everything there is to say about a case; each part is worked out when it is first asked for."""

    case: Case
    assumed: tuple[str, ...] = ()

    @classmethod
    def of(cls, document: Document) -> "OffersReport":
        return cls(document.case, document.assumed)

    @cached_property
    def base(self) -> ScenarioResult:
        return compare(self.case)

    @cached_property
    def what_ifs(self) -> list[ScenarioResult]:
        return [what_if(self.case, change) for change in self.case.what_ifs]

    @cached_property
    def switching(self) -> list[Switch]:
        return switching_values(self.case)

    @cached_property
    def odds(self) -> list[Odds]:
        return odds(self.case)

    @property
    def cheapest(self) -> Figures:
        return min(self.base.figures, key=lambda one: one.total)


def report_of(document: Document, *more: WhatIf) -> OffersReport:
    """The report for the pages: the usual events come first, then the case's own, then ``more``."""
    case = document.case
    what_ifs = (*usual_what_ifs(case.use.months), *case.what_ifs, *more)
    return OffersReport(case._replace(what_ifs=what_ifs), document.assumed)


def usual_what_ifs(months: int) -> tuple[WhatIf, ...]:
    """The usual events that may happen within ``months`` of planned use."""
    leaving = (WhatIf(words, leave_at_month=at) for at, words in _LEAVING.items() if at < months)
    return (
        *([WhatIf("You are ill for six weeks", off=_SIX_WEEKS_OFF)] if _has_week(months) else []),
        *leaving,
        WhatIf("Scuffs and chips cost £400 when the car goes back", damage=400_00),
        WhatIf("You drive a fifth more miles", more_miles=Fraction(1, 5)),
        WhatIf("One big repair costs £900", one_repair=900_00),
    )


def _has_week(months: int) -> bool:
    return months * 52 // 12 > _SIX_WEEKS_OFF.from_week


def with_ranges(case: Case) -> Case:
    """The case for the odds: with the usual ranges if it has none of its own."""
    return case if case.uncertain else case._replace(uncertain=usual_ranges(case))


def usual_ranges(case: Case) -> tuple[Uncertain, ...]:
    """The usual ranges of what each bought car will fetch, of repairs and of miles, if the case rests on them."""
    ranges = [
        _around("value_at_horizon", Fraction(offer.value_at_horizon), _VALUE, offer.name)
        for offer in case.offers
        if offer.value_at_horizon and bears_on("value_at_horizon", offer)
    ]
    if case.running.repairs_per_year:
        ranges.append(_around(REPAIRS.key, Fraction(case.running.repairs_per_year), _REPAIRS))
    ranges.append(_around("miles_per_year", case.use.miles_per_year, _MILES))
    return tuple(ranges)


def _around(name: str, likely: Fraction, parts: tuple[Fraction, Fraction], offer: str = "") -> Uncertain:
    return Uncertain(name, likely * parts[0], likely, likely * parts[1], offer)
