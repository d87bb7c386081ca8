"""A receipt that is logged with its fill or cost, by the same POST, with script and without."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config import budgets
from costing.models import CostEntry, Fill, Receipt
from fleet.models import Car
from tests.costing.pages import cost_data, fill_data
from tests.costing.receipts import PDF, PHOTO

FILL_LOG, COST_LOG = reverse("costing:fill-log"), reverse("costing:cost-log")
JSON = {"Accept": "application/json"}

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def with_files(data: dict[str, Any], *uploads: bytes) -> dict[str, Any]:
    return data | {"receipt": [SimpleUploadedFile("r", upload) for upload in uploads]}


@pytest.mark.parametrize("headers", [{}, JSON])
def test_a_fill_and_a_cost_take_their_receipts_along(
    everyone: dict[str, Client], car: Car, headers: dict[str, str]
) -> None:
    fill = everyone["keeper"].post(FILL_LOG, with_files(fill_data(car), PHOTO, PDF), headers=headers)
    cost = everyone["keeper"].post(COST_LOG, with_files(cost_data(car), PHOTO), headers=headers)
    assert (fill.status_code, cost.status_code) == ((201, 201) if headers else (303, 303))
    assert Fill.objects.get().receipts.count() == 2
    assert CostEntry.objects.get().receipts.count() == 1


def test_sent_again_it_adds_no_second_copy(everyone: dict[str, Client], car: Car) -> None:
    data = fill_data(car)
    for _ in range(3):
        everyone["keeper"].post(FILL_LOG, with_files(data, PHOTO), headers=JSON)
    assert (Fill.objects.count(), Receipt.objects.count()) == (1, 1)
    # Not even another one: the save was done with the first.
    everyone["keeper"].post(FILL_LOG, with_files(data, PDF), headers=JSON)
    assert Receipt.objects.count() == 1


def test_one_that_is_refused_says_so_and_what_was_typed_stays(everyone: dict[str, Client], car: Car) -> None:
    sent = with_files(fill_data(car), b"Paid with thanks.")
    page = everyone["keeper"].post(FILL_LOG, sent).content.decode()
    assert "This cannot be read as a receipt" in page
    assert 'value="47.92"' in page
    assert "Choose the receipt again" in page
    told = everyone["keeper"].post(FILL_LOG, with_files(fill_data(car), b"Paid with thanks."), headers=JSON)
    assert list(told.json()["errors"]) == ["receipt"]
    assert not Fill.objects.exists()


def test_without_room_for_it_nothing_is_logged(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(budgets, "RECEIPTS_OF_MEMBER", 1)
    told = everyone["keeper"].post(COST_LOG, with_files(cost_data(car), PDF, PHOTO), headers=JSON)
    assert (told.status_code, list(told.json()["errors"])) == (422, ["receipt"])
    assert not CostEntry.objects.exists()


@pytest.mark.parametrize("address", [FILL_LOG, COST_LOG])
def test_the_page_offers_the_camera_and_takes_pdfs(everyone: dict[str, Client], car: Car, address: str) -> None:
    page = everyone["keeper"].get(address).content.decode()
    assert 'enctype="multipart/form-data"' in page
    assert 'accept="image/jpeg,image/png,image/webp,application/pdf"' in page
    assert "receipt.js" in page
