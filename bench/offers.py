"""Comparing six offers over 60 months, beside bare arithmetic on arrays of the same size."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

import numpy as np
import tomli_w
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve, reverse

from bench.book import at_noon, client_of
from bench.measuring import Figure, alternate, compared, in_words, typical
from costing.choosing.core.figures import compare
from costing.choosing.core.odds import DRAWS, odds
from costing.choosing.core.switching import switching_values
from costing.choosing.document.reading import read_document
from instructors.models import Member

#: One offer's total is made of about so many sums.
ITEMS = 14
_OFFERS: list[dict[str, Any]] = [
    {"kind": "owned", "price": 7_200, "value_at_horizon": 2_100},
    {"kind": "owned", "price": 12_500, "value_at_horizon": 4_800},
    {
        "kind": "hire_purchase", "price": 9_500, "deposit": 1_500, "payment": 252, "payments": 36, "final_payment": 10,
        "value_at_horizon": 2_600,
    },
    {
        "kind": "pcp", "price": 15_800, "deposit": 1_200, "payment": 239, "payments": 72, "final_payment": 3_400,
        "value_at_horizon": 4_900,
    },
    {
        "kind": "contract_hire", "deposit": 900, "payment": 310, "payments": 36, "mileage_allowance": 20_000,
        "excess_pence_per_mile": 9, "includes": ["vehicle_tax", "servicing"],
    },
    {
        "kind": "weekly_rental", "payment": 129, "payments": 104, "frequency": "week", "damage": 350,
        "includes": ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"],
        "early_exit": {"kind": "weeks", "value": 8},
    },
]  # fmt: skip


#: What an offers file would hold: six offers, and a range for each of five inputs.
DOCUMENT: dict[str, Any] = {
    "use": {
        "starts_on": date(2027, 1, 1), "months": 60, "miles_per_year": 24_000, "private_miles_per_year": 3_000,
        "lesson_hours_per_week": 26, "weeks_taught_per_year": 46, "lesson_hour_price": 38,
    },
    "running": {
        "fuel_pence_per_mile": Decimal("13.5"), "insurance": [910, 790], "vehicle_tax_per_year": 195,
        "breakdown_per_year": 60, "mot": Decimal("54.85"), "servicing_per_year": 260, "repairs_per_year": 400,
        "tyre_set": 320, "fit_out": 440,
    },
    "offer": [{"name": f"Offer {number}"} | offer for number, offer in enumerate(_OFFERS, 1)],
    "uncertain": [
        {"input": "repairs_per_year", "low": 150, "likely": 400, "high": 1_400},
        {"input": "miles_per_year", "low": 15_000, "likely": 24_000, "high": 30_000},
        {"input": "fuel_pence_per_mile", "low": 11, "likely": 13, "high": 19},
        {"input": "value_at_horizon", "low": 1_500, "likely": 3_000, "high": 6_000},
        {"input": "tyre_set", "low": 250, "likely": 320, "high": 480},
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
    case = read_document(DOCUMENT).case
    drawn, sums = np.random.default_rng(1), np.ones((len(case.offers), DRAWS))

    def bare() -> None:
        for _ in case.uncertain:
            column = drawn.triangular(1, 2, 3, DRAWS)
        for row in sums:
            for _ in range(ITEMS):
                row += 1.5 * column
        np.percentile(sums, (10, 50, 90), axis=1)
        np.argmin(sums, axis=0)

    work, base = alternate(lambda: odds(case), bare)
    yield Figure(compared(f"odds of six offers, {DRAWS:,} draws", work, "bare numpy", base))
    yield Figure(f"comparing six offers: {in_words(typical(lambda: compare(case).figures))}")
    values = len(switching_values(case))
    yield Figure(f"{values} switching values: {in_words(typical(lambda: switching_values(case), rounds=5))}")
    with at_noon():
        client = client_of(Member.objects.order_by("pk")[0])
        comparison = upload(client)
        for words, name in _PAGES.items():
            address = reverse(f"costing:{name}", args=[comparison])
            yield Figure(f"{words}: {in_words(typical(partial(client.get, address), rounds=5))}")


def upload(client: Client) -> int:
    """Upload the document as an offers file, and return the id of the comparison that it makes."""
    file = SimpleUploadedFile("six.toml", tomli_w.dumps(DOCUMENT).encode())
    made = client.post(reverse("costing:comparison-upload"), {"file": file})
    return int(resolve(made.headers["Location"]).kwargs["pk"])
