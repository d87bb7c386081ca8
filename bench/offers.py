"""Comparing six offers over 60 months, beside bare arithmetic on arrays of the same size."""

import tempfile
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve, reverse

from bench.book import at_noon, client_of
from bench.measuring import Figure, alternate, compared, in_words, typical
from costing.choosing.report import OffersReport, report_of_file
from instructors.models import Member

#: One offer's total is made of about so many sums.
ITEMS = 14
#: How many draws the odds rest on.
DRAWS = 10_000
_OFFERS: list[dict[str, Any]] = [
    {"kind": "owned", "price": 5_850, "value_at_horizon": 1_700},
    {"kind": "owned", "price": 13_900, "value_at_horizon": 5_600},
    {
        "kind": "hire_purchase", "price": 10_400, "deposit": 900, "payment": 241, "payments": 48, "final_payment": 10,
        "value_at_horizon": 3_100, "damage": 0,
    },
    {
        "kind": "pcp", "price": 17_200, "deposit": 1_450, "payment": 263, "payments": 66, "final_payment": 4_100,
        "value_at_horizon": 5_300, "damage": 200,
    },
    {
        "kind": "contract_hire", "deposit": 980, "payment": 327, "payments": 42, "mileage_allowance": 22_000,
        "excess_pence_per_mile": 8, "damage": 150, "includes": ["vehicle_tax", "servicing"],
        "early_exit": {"kind": "share_of_remaining", "value": 0.5},
    },
    {
        "kind": "weekly_rental", "payment": 147, "payments": 78, "frequency": "week", "damage": 280,
        "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
        "early_exit": {"kind": "weeks", "value": 5},
    },
]  # fmt: skip


#: What an offers file would hold: six offers, and a range for each of five inputs.
DOCUMENT: dict[str, Any] = {
    "use": {
        "starts_on": date(2027, 4, 1), "months": 60, "miles_per_year": 22_500, "private_miles_per_year": 2_500,
        "lesson_hours_per_week": 25, "weeks_taught_per_year": 45, "lesson_hour_price": 40,
    },
    "running": {
        "fuel_pence_per_mile": Decimal("14.1"), "insurance": [1_060, 930], "vehicle_tax_per_year": 195,
        "breakdown_per_year": 68, "mot": Decimal("54.85"), "servicing_per_year": 290, "repairs_per_year": 430,
        "tyre_set": 335, "tyre_set_miles": 24_000, "fit_out": 455,
    },
    "offer": [{"name": f"Offer {number}"} | offer for number, offer in enumerate(_OFFERS, 1)],
    "uncertain": [
        {"input": "repairs_per_year", "low": 150, "likely": 430, "high": 1_500},
        {"input": "miles_per_year", "low": 15_000, "likely": 22_500, "high": 28_000},
        {"input": "fuel_pence_per_mile", "low": 11, "likely": 14, "high": 19},
        {"input": "value_at_horizon", "offer": "Offer 2", "low": 3_500, "likely": 5_600, "high": 7_000},
        {"input": "months", "low": 24, "likely": 60, "high": 66},
    ],
}  # fmt: skip


#: The requests that the page of a comparison makes.
_PAGES = {
    "page of the six": "comparison",
    "what would change its answer": "comparison-switching",
    "how often each is the cheapest": "comparison-odds",
}


def offers() -> Iterator[Figure]:
    """Measure the odds beside bare numpy, the other figures, and the pages that show them."""
    case = _case()
    drawn, sums = np.random.default_rng(1), np.ones((len(case.offers), DRAWS))

    def bare() -> None:
        for _ in case.uncertain:
            column = drawn.triangular(1, 2, 3, DRAWS)
        for row in sums:
            for _ in range(ITEMS):
                row += 1.5 * column
        np.percentile(sums, (10, 50, 90), axis=1)
        np.argmin(sums, axis=0)

    work, base = alternate(lambda: OffersReport(case).odds, bare)
    yield Figure(compared(f"odds of six offers, {DRAWS:,} draws", work, "bare numpy", base))
    yield Figure(f"comparing six offers: {in_words(typical(lambda: OffersReport(case).figures))}")
    values = len(OffersReport(case).switching)
    yield Figure(f"{values} switching values: {in_words(typical(lambda: OffersReport(case).switching, rounds=5))}")
    with at_noon():
        client = client_of(Member.objects.order_by("pk")[0])
        comparison = upload(client)
        for words, name in _PAGES.items():
            address = reverse(f"costing:{name}", args=[comparison])
            yield Figure(f"{words}: {in_words(typical(partial(client.get, address), rounds=5))}")


def _case() -> Any:
    """The case that the document makes."""
    with tempfile.NamedTemporaryFile(suffix=".toml") as file:
        file.write(tomli_w.dumps(DOCUMENT).encode())
        file.flush()
        return report_of_file(Path(file.name), "GB").case


def upload(client: Client) -> int:
    """Upload the document as an offers file, and return the id of the comparison that it makes."""
    file = SimpleUploadedFile("six.toml", tomli_w.dumps(DOCUMENT).encode())
    made = client.post(reverse("costing:comparison-upload"), {"file": file})
    return int(resolve(made.headers["Location"]).kwargs["pk"])
