"""Whatever is typed on a log page gives a row in the book or words on the page, where all of it still stands."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.models import CostEntry, Fill, Takings, TeachingRecord
from fleet.models import Car
from tests.costing.pages import cost_data, fill_data, input_value, takings_data, week_data

figures = st.one_of(
    st.decimals(-10, 100_000, places=2).map(str),
    st.integers(-5, 1_000_000).map(str),
    st.sampled_from(["", " ", "£1,234.5", "1,2", "0", ".", "1e9", "NaN", "½", "٣", "9" * 60, "7:30", "<b>", "\u202e1"]),
    st.text(max_size=12),
)
days = st.sampled_from(["", "2026-03-16", "2026-03-17", "0001-01-01", "9999-12-31", "16/03/2026", "soon"])
PAGES = {
    "fill-log": (Fill, fill_data, {"amount": figures, "quantity": figures, "unit_price": figures, "odometer": figures}),
    "cost-log": (
        CostEntry,
        cost_data,
        {"amount": figures, "covers_from": days, "covers_to": days, "supplier": figures},
    ),
    "takings": (
        Takings,
        takings_data,
        {"amount": figures, "cancelled_count": figures, "cancelled_minutes": figures, "from_on": days},
    ),
    "teaching-log": (TeachingRecord, week_data, {"day_0": figures, "day_5": figures, "hours": figures, "week": days}),
}


@pytest.mark.usefixtures("today")
@pytest.mark.parametrize("name", PAGES)
def test_whatever_is_typed_is_saved_or_told(everyone: dict[str, Client], car: Car, name: str) -> None:
    model, data, typed = PAGES[name]
    client, address = everyone["keeper"], reverse(f"costing:{name}")

    @settings(max_examples=60)
    @given(sent=st.fixed_dictionaries({}, optional=typed))
    def tried(sent: dict[str, Any]) -> None:
        with transaction.atomic():
            before = model.objects.count()
            response = client.post(address, data(car, ref=str(uuid4())) | sent)
            saved = model.objects.count() - before
            transaction.set_rollback(True)
        assert (response.status_code, bool(saved)) in {(303, True), (200, False)}
        if response.status_code == 200:
            page = response.content.decode()
            assert 'class="ask' in page or 'class="errors"' in page
            kept = {one: input_value(page, one) for one in sent if one.startswith(("amount", "quantity", "odometer"))}
            plain = {one: words for one, words in kept.items() if sent[one].isascii() and sent[one].isalnum()}
            assert plain == {one: sent[one] for one in plain}

    tried()
