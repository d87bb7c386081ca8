"""The page /receipts/<uuid>/remove/: a receipt goes, and its files with it. Who may is asked in test_receipt.py."""

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.db import transaction
from django.test import Client
from django.urls import reverse

from costing.actions import drop_receipt
from costing.models import CostEntry, Receipt
from fleet.models import Car
from tests.costing.receipts import kept
from tests.factories import CostEntryFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def receipt(car: Car) -> Receipt:
    return kept(CostEntryFactory.create(car=car, member=car.keeper), "first", "second")[0]


def has_files(receipt: Receipt) -> list[bool]:
    return [(settings.MEDIA_ROOT / str(file)).exists() for file in (receipt.picture, receipt.thumbnail)]


def test_it_goes_with_its_files_and_the_others_stay(
    everyone: dict[str, Client], receipt: Receipt, django_capture_on_commit_callbacks: Callable[..., Any]
) -> None:
    path = reverse("costing:receipt-remove", args=[receipt.pk])
    assert reverse("costing:receipt", args=[receipt.pk]) in everyone["keeper"].get(path).content.decode()
    with django_capture_on_commit_callbacks(execute=True):
        answer = everyone["keeper"].post(path)
    assert answer.url == reverse("costing:entry-correct", args=["cost", receipt.entry.pk])
    (left,) = receipt.entry.receipts.all()
    assert (has_files(receipt), has_files(left)) == ([False, False], [True, True])
    assert "The receipt was removed." in everyone["keeper"].get(answer.url).content.decode()
    assert everyone["keeper"].post(path).status_code == 404


def test_the_files_stay_until_it_is_certain(receipt: Receipt) -> None:
    with transaction.atomic():
        drop_receipt(by=receipt.member, receipt=Receipt.objects.get(pk=receipt.pk))
        transaction.set_rollback(True)
    assert has_files(receipt) == [True, True]
    assert Receipt.objects.filter(pk=receipt.pk).exists()


def test_it_can_be_kept_again(receipt: Receipt, django_capture_on_commit_callbacks: Callable[..., Any]) -> None:
    entry = receipt.entry
    with django_capture_on_commit_callbacks(execute=True):
        drop_receipt(by=receipt.member, receipt=Receipt.objects.get(pk=receipt.pk))
    assert [one.position for one in kept(entry, "first")] == [2, 3]


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_nobody_else_removes_it(everyone: dict[str, Client], receipt: Receipt, who: str) -> None:
    assert everyone[who].post(reverse("costing:receipt-remove", args=[receipt.pk])).status_code == 404
    with pytest.raises(PermissionError):
        drop_receipt(by=CostEntryFactory.create().member, receipt=receipt)
    assert Receipt.objects.count() == 2
    assert CostEntry.objects.count() == 2
