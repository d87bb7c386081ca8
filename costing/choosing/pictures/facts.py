"""What there is to know of one offer beside its column: its terms, its other measures, and what they rest on."""

from collections.abc import Iterator
from typing import NamedTuple

from config.showing import pence_as_pounds, percent, whole
from costing.choosing.core.case import Case, Offer
from costing.choosing.core.figures import Figures
from costing.choosing.core.payments import years_of_term
from costing.choosing.pictures import wording
from costing.choosing.pictures.sources import plain
from costing.choosing.report import OffersReport


class Fact(NamedTuple):
    """A term of an offer or a measure of it, and a note on it."""

    label: str
    words: str
    note: str = ""


def facts_of(report: OffersReport, one: Figures) -> list[Fact]:
    """Everything that is said of one offer; what can't be said, because something isn't told, is left out."""
    case, offer = report.case, one.offer
    said = [
        Fact("Terms", wording.terms(offer) or "None told"),
        *_leaving(offer),
        Fact("Included", wording.parts_of(offer, included=True)),
        Fact("Not included", wording.parts_of(offer, included=False)),
        *_miles(case, offer),
        *_measures(case, one),
        Fact("APR worked out", *wording.apr(one)),
    ]
    if one.not_told:
        said.append(Fact("Not told", wording.untold(one.not_told)))
    if assumed := report.assumed[offer.name]:
        said.append(Fact("We assume", "; ".join(wording.assumed(key) for key in assumed)))
    return said


def _leaving(offer: Offer) -> Iterator[Fact]:
    if offer.is_hire and offer.early_exit:
        rule, value = offer.early_exit.kind, offer.early_exit.value
        weeks = "1 week’s payments" if value == 1 else f"{plain(value)} weeks’ payments"
        words = weeks if rule == "weeks" else f"{percent(plain(value * 100))} of the payments left"
        yield Fact("Leaving inside the term", words)
    if offer.is_hire:
        past = offer.then or offer.way.then
        yield Fact("Past the term", "A new term on the same terms" if past == "renew" else "It goes on at its payment")


def _miles(case: Case, offer: Offer) -> Iterator[Fact]:
    if offer.mileage_allowance is None:
        return
    allowed = f"{whole(int(offer.mileage_allowance))} a year"
    over = case.use.miles_per_year - offer.mileage_allowance
    note = ""
    if over > 0:
        rate = offer.excess_pence_per_mile
        charge = "at a rate that isn’t told" if rate is None else f"at {plain(rate)}p each when it goes back"
        note = f"You plan {whole(int(over))} a year more, {charge}."
    yield Fact("Miles allowed", allowed, note)


def _measures(case: Case, one: Figures) -> Iterator[Fact]:
    use = case.use
    for label, pence in (("A week", one.per_week), ("A mile", one.per_mile)):
        if pence is not None:
            yield Fact(label, pence_as_pounds(pence))
    if one.hours_a_week is not None:
        yield Fact("Lesson hours a week to pay for it", f"{one.hours_a_week} h")
    if one.dearest is not None:
        yield Fact("Dearest month", wording.pounds(one.dearest.pence), wording.month(use, one.dearest.month))
    if use.discount_rate and one.present_value is not None:
        rate = percent(plain(use.discount_rate * 100))
        yield Fact(f"In today’s money, at {rate} a year", wording.pounds(one.present_value))
    if use.marginal_tax_rate and one.after_tax is not None:
        yield Fact("After tax", wording.pounds(one.after_tax), "Every cost is counted as relieved in the end.")
    if one.offer.is_credit and one.offer.payments:
        years = years_of_term(one.offer)
        if years * 12 > one.months:
            yield Fact("Its term", f"{plain(years)} years", "It runs on after the months compared here.")
