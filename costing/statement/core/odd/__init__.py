"""Something is odd: what stands out in one's own book of a car, so that one asks why.

Pure, from a member's own book and a period that ends today. It claims no fault of a car, and says nothing of whether it
may be used: that has its own verdict (`fleet/core/verdict.py`).
"""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from costing.core.periods import last_ended_month, months_ending
from costing.core.records import CarBook, Period, Unit
from costing.statement.core.odd.covers import RENEWED, covered, holes
from costing.statement.core.odd.economy import ENOUGH, Fall, fall_of, usable
from costing.statement.core.odd.finding import Finding, Kind
from costing.statement.core.odd.looked import Looked
from costing.statement.core.odd.miles import fills_not_logged, jumps
from costing.statement.core.odd.silent import lessons, regular_costs, service

__all__ = ["ENOUGH", "RENEWED", "Fall", "Finding", "Kind", "Seen", "fall_of", "looked_at", "odd", "seen"]


def looked_at(today: date) -> Period:
    """The days that are looked at: the last 12 calendar months that have ended, and this one until today."""
    return Period(months_ending(last_ended_month(today).first, 12).first, today)


def odd(book: CarBook, today: date) -> list[Finding]:
    """What stands out in a book that has all that affects `looked_at`, gravest first."""
    looked = Looked(book, looked_at(today))
    found = [*holes(looked), *_falls(looked), *jumps(looked), *fills_not_logged(looked)]
    found += [*lessons(looked), *regular_costs(looked), *service(looked)]
    return sorted(found, key=lambda one: one.grave)


def _falls(looked: Looked) -> Iterator[Finding]:
    """Yield that economy has fallen; of a car that one still keeps."""
    for unit, found in looked.stretches() if looked.now else ():
        if fall := fall_of(found, unit):
            days = Period(fall.began.begins_on, fall.last.ends_on)
            figures = {"tanks": fall.tanks}
            rests_on = fall.began.ends_on.isoformat()
            yield Finding(Kind.ECONOMY, unit, rests_on, *days, is_open=True, figures=figures, fall=fall)


class Seen(NamedTuple):
    """What a book gives to look at, for whoever wonders why nothing stands out.

    ``stretches`` are how many go from brim to brim, by unit, none if the car takes both fuel and charge; ``covers`` the
    first and last day that each renewed cover holds; ``readings`` how many days have one.
    """

    stretches: Mapping[Unit, int]
    takes_both: bool
    covers: Mapping[str, Period]
    readings: int


def seen(book: CarBook, today: date) -> Seen:
    """What of a book is looked at by `odd`."""
    looked = Looked(book, looked_at(today))
    spans = {name: covered(book, name, looked.period) for name in RENEWED}
    own = {fill.unit for fill in book.fills if not fill.is_anothers}
    return Seen(
        {unit: len(usable(found)) for unit, found in looked.stretches()},
        len(own) > 1,
        {name: Period(found[0].first, max(span.last for span in found)) for name, found in spans.items() if found},
        looked.readings_seen(),
    )
