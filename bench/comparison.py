"""The page of a comparison with the parts that come into it, against the working out of the figures they show."""

from collections.abc import Callable
from datetime import date
from decimal import Decimal

from django.test import Client
from django.urls import reverse

from bench.offers import OFFERS
from costing.actions.choosing import NewOffer, start_comparison
from costing.core.offers.odds import odds
from costing.core.offers.switching import switching_values
from costing.models import Comparison
from costing.offers.stored import document_of, kept
from costing.offers.usual import report_of, with_ranges
from instructors.models import Member

USE = {
    "starts_on": date(2027, 1, 1), "months": 60, "miles_per_year": 24_000, "private_miles_per_year": 3_000,
    "lesson_hours_per_week": 26, "weeks_taught_per_year": 46, "lesson_hour_price": 38,
}  # fmt: skip
RUNNING = {"fuel_pence_per_mile": Decimal("13.5"), "insurance": [910, 790], "repairs_per_year": 400, "tyre_set": 320}

_REQUESTS = ("comparison", "comparison-switching", "comparison-odds")


def report_comparison(time: Callable[[Callable[[], None]], float], member: Member) -> None:
    """Print what the three requests of a page take beside what all their figures take."""
    comparison = _six_offers(member)
    document = document_of(comparison)
    client = Client(headers={"host": "localhost"})
    client.force_login(member)
    addresses = [reverse(f"costing:{name}", args=[comparison.pk]) for name in _REQUESTS]

    def figures() -> None:
        report = report_of(document)
        drawn = odds(with_ranges(document.case))
        if not (report.base.figures and report.what_ifs and switching_values(document.case) and drawn):
            raise RuntimeError("nothing was worked out, so nothing is measured")

    def page() -> None:
        for address in addresses:
            if client.get(address, headers={"HX-Request": "true"}).status_code != 200:
                raise RuntimeError("there is no page, so nothing is measured")

    figures_time, page_time = time(figures), time(page)
    print(
        f"page of {len(OFFERS)} offers: {page_time * 1000:.0f} ms, working out its figures "
        f"{figures_time * 1000:.0f} ms: ratio {page_time / figures_time:.2f}"
    )


def _six_offers(member: Member) -> Comparison:
    offers = []
    for number, terms in enumerate(OFFERS, 1):
        told = {name: value for name, value in terms.items() if name != "kind"}
        offers.append(NewOffer(str(terms["kind"]), f"Offer {number}", kept(told)))
    return start_comparison(
        by=member, name="Six offers", use=kept(USE), running=kept(RUNNING), sources={}, offers=offers
    )
