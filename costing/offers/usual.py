"""What is looked at in every comparison, asked or not: usual events, and usual ranges. All are assumptions.

None has a source: they are round figures to look at, and each page that shows them says so.
"""

from fractions import Fraction

from costing.core.catalogue.running import REPAIRS
from costing.core.offers.inputs import bears_on
from costing.core.offers.terms import Case, Uncertain, WeeksOff, WhatIf
from costing.offers.reading import Document
from costing.offers.report import OffersReport

_SIX_WEEKS_OFF = WeeksOff(from_week=20, weeks=6)
_LEAVING = {
    9: "Leave after nine months",
    6: "A trainee not qualified at the first attempt: leave after 6 months",
    12: "Not at the second attempt either: leave after 12 months",
    18: "Nor at the third: leave after 18 months",
}
#: Parts of the planned figure, least and most.
_VALUE, _REPAIRS, _MILES = (
    (Fraction(80, 100), Fraction(110, 100)),
    (Fraction(1, 2), Fraction(5, 2)),
    (Fraction(80, 100), Fraction(120, 100)),
)


def usual_what_ifs(months: int) -> tuple[WhatIf, ...]:
    """What could happen within ``months`` of planned use."""
    leaving = (WhatIf(words, leave_at_month=at) for at, words in _LEAVING.items() if at < months)
    return (
        *([WhatIf("Ill for six weeks", off=_SIX_WEEKS_OFF)] if months * 52 // 12 > _SIX_WEEKS_OFF.from_week else []),
        *leaving,
        WhatIf("Scuffs and chips at hand-back, charged at £400", damage=400_00),
        WhatIf("A fifth more miles", more_miles=Fraction(1, 5)),
        WhatIf("One big repair of £900", one_repair=900_00),
    )


def usual_ranges(case: Case) -> tuple[Uncertain, ...]:
    """What each car bought will fetch, the repairs and the miles, as far as the case rests on them."""
    ranges = [
        _around("value_at_horizon", Fraction(offer.value_at_horizon), _VALUE, offer.name)
        for offer in case.offers
        if offer.value_at_horizon and bears_on("value_at_horizon", offer)
    ]
    if case.running.repairs_per_year:
        ranges.append(_around(REPAIRS.key, Fraction(case.running.repairs_per_year), _REPAIRS))
    ranges.append(_around("miles_per_year", case.use.miles_per_year, _MILES))
    return tuple(ranges)


def report_of(document: Document, *more: WhatIf) -> OffersReport:
    """The report of a comparison made on the pages: what usually happens is in it, then the case's own, then more."""
    case = document.case
    what_ifs = (*usual_what_ifs(case.use.months), *case.what_ifs, *more)
    return OffersReport(case._replace(what_ifs=what_ifs), document.assumed)


def with_ranges(case: Case) -> Case:
    """The case as the odds draw from it: with the usual ranges where it has none of its own."""
    return case if case.uncertain else case._replace(uncertain=usual_ranges(case))


def _around(name: str, likely: Fraction, parts: tuple[Fraction, Fraction], offer: str = "") -> Uncertain:
    return Uncertain(name, likely * parts[0], likely, likely * parts[1], offer)
