"""The walk-away price and the bills of the first year, in words."""

from collections.abc import Iterator
from typing import NamedTuple

from config.showing import whole
from costing.choosing.core.case import Case, Offer
from costing.choosing.core.figures import figures
from costing.choosing.core.inputs import offer_named
from costing.choosing.core.look_over import LookOver, first_year_bills
from costing.choosing.core.walk_away import WalkAway, walk_away
from costing.choosing.pictures.wording import assumed, pounds, untold
from costing.core.catalogue.running import are_many

#: The price rests on what a car may fetch, so it is shown in tens of pounds, rounded down so that it still holds.
_TENS = 1_000


class WalkAwayWords(NamedTuple):
    """The price, or why there is none, in a few words; then sentences, and what the price rests on."""

    head: str
    sentences: tuple[str, ...] = ()
    rests_on: tuple[str, ...] = ()


class BillRow(NamedTuple):
    """One line of the first year's bills."""

    words: str
    figure: str


def walk_away_words(case: Case, name: str, found: LookOver) -> WalkAwayWords:
    """The highest price at which the offer of this name still beats the others, less the work noted."""
    solved = walk_away(case, name)
    if solved.price is None:
        return _without_price(solved)
    offer = offer_named(case, name)
    limit = (solved.price - found.work_pence) // _TENS * _TENS
    if limit <= 0:
        return WalkAwayWords(f"With the work noted it does not beat {solved.than} at any price")
    head = f"Walk away above {pounds(limit)}"
    return WalkAwayWords(head, (_asked(offer, limit), _holds(case, solved)), tuple(_rests_on(case, offer, found)))


def _without_price(solved: WalkAway) -> WalkAwayWords:
    if solved.of:
        told = "they are" if are_many(solved.of) else "it is"
        why = f"It hangs on what is not told: {untold(solved.of)}. Once {told} told, the price can be worked out."
        return WalkAwayWords("No walk-away price yet", (why,))
    if solved.than:
        return WalkAwayWords(f"{solved.than} is as cheap, whatever this car’s price")
    return WalkAwayWords(f"{solved.reason[0].upper()}{solved.reason[1:]}")


def _asked(offer: Offer, limit: int) -> str:
    apart = (offer.price or 0) - limit
    if not apart:
        return f"The seller asks just that, {pounds(limit)}."
    return (
        f"The seller asks {pounds(offer.price or 0)}, {pounds(abs(apart))} {'too much' if apart > 0 else 'below it'}."
    )


def _holds(case: Case, solved: WalkAway) -> str:
    same = ""
    if solved.if_same:
        verb = "cost" if are_many(solved.if_same) else "costs"
        same = f", if {untold(solved.if_same)} {verb} the same for both"
    is_told = not any(figures(case, one).not_told for one in case.offers)
    above = "it is dearer than" if is_told else "that is no longer certain beside"
    return (
        f"Up to there it is cheaper than every other offer over {case.use.months} months{same}. "
        f"Above it, {above} {solved.than}."
    )


def _rests_on(case: Case, offer: Offer, found: LookOver) -> Iterator[str]:
    use = case.use
    yield f"{whole(int(use.miles_per_year))} miles a year, for {use.months} months."
    if offer.value_at_horizon is not None:
        yield f"The car fetches {pounds(offer.value_at_horizon)} at the end."
    if offer.is_credit:
        yield "Deposit, fees, rate and number of payments stay as quoted; each payment moves with the price."
    yield "What running it costs, as on its own page and in this comparison."
    for key in figures(case, offer).assumed:
        yield f"We assume {assumed(key)}."
    if found.work_pence:
        yield f"The work noted, about {pounds(found.work_pence)}, has come off the price already."


def bill_rows(case: Case, offer: Offer, found: LookOver) -> list[BillRow]:
    """Each bill of the first year, then the work noted that has a sum, then all that is told."""
    bills = first_year_bills(case, offer)
    rows = [BillRow(bill.part.words, "not told" if bill.pence is None else pounds(bill.pence)) for bill in bills]
    rows += [BillRow(work.words, pounds(work.pence)) for work in found.work if work.pence is not None]
    told = sum(bill.pence or 0 for bill in bills) + found.work_pence
    is_all = all(bill.pence is not None for bill in bills) and all(work.pence is not None for work in found.work)
    return [*rows, BillRow("In all" if is_all else "What is told", pounds(told))]
