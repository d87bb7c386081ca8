"""The page /receipts/<uuid>/: one receipt, for whoever logged what it is of."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry, Receipt
from fleet.models import Car
from tests.costing.receipts import kept
from tests.factories import CostEntryFactory

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def cost(car: Car) -> CostEntry:
    return CostEntryFactory.create(car=car, member=car.keeper)


@pytest.fixture
def receipt(cost: CostEntry) -> Receipt:
    return kept(cost)[0]


def body_of(client: Client, name: str, receipt: Receipt) -> tuple[int, bytes]:
    answer = client.get(reverse(name, args=[receipt.pk]))
    return answer.status_code, b"".join(answer) if answer.streaming else answer.content


@pytest.mark.parametrize("name", ["costing:receipt", "costing:receipt-small", "costing:receipt-remove"])
@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_it_is_for_whoever_logged_it_alone(
    everyone: dict[str, Client], receipt: Receipt, name: str, who: str, status: int
) -> None:
    assert body_of(everyone[who], name, receipt)[0] == status


def test_the_next_keeper_does_not_see_it_and_the_former_still_does(
    everyone: dict[str, Client], receipt: Receipt, car: Car, colleague_car: Car
) -> None:
    Car.objects.filter(pk=car.pk).update(keeper=colleague_car.keeper)
    assert body_of(everyone["colleague"], "costing:receipt", receipt)[0] == 404
    assert body_of(everyone["keeper"], "costing:receipt", receipt)[0] == 200


def test_a_voided_entry_keeps_its_own(everyone: dict[str, Client], receipt: Receipt) -> None:
    CostEntry.objects.update(voided_at="2026-03-12T09:00Z")
    assert body_of(everyone["keeper"], "costing:receipt", receipt) == (200, b"a receipt")
    assert body_of(everyone["stranger"], "costing:receipt", receipt)[0] == 404


def test_it_is_a_picture_and_nothing_else_to_a_browser(everyone: dict[str, Client], receipt: Receipt) -> None:
    for name, body in (("costing:receipt", b"a receipt"), ("costing:receipt-small", b"small: a receipt")):
        answer = everyone["keeper"].get(reverse(name, args=[receipt.pk]))
        assert b"".join(answer) == body
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Cache-Control"] == "private, no-cache"
        assert "sandbox" in answer.headers["Content-Security-Policy"]
        again = everyone["keeper"].get(
            reverse(name, args=[receipt.pk]), headers={"If-None-Match": answer.headers["ETag"]}
        )
        assert (again.status_code, again.content) == (304, b"")


def test_what_somebody_else_has_kept_does_not_open_it_for_them(everyone: dict[str, Client], receipt: Receipt) -> None:
    seen = everyone["keeper"].get(reverse("costing:receipt", args=[receipt.pk]))
    b"".join(seen)  # read to its end, it closes its file
    tag = seen.headers["ETag"]
    asked = everyone["colleague"].get(reverse("costing:receipt", args=[receipt.pk]), headers={"If-None-Match": tag})
    assert asked.status_code == 404


def test_one_whose_file_is_lost_says_so(everyone: dict[str, Client], receipt: Receipt, cost: CostEntry) -> None:
    receipt.picture.storage.delete(receipt.picture.name)
    receipt.thumbnail.storage.delete(receipt.thumbnail.name)
    for name in ("costing:receipt", "costing:receipt-small"):
        status, page = body_of(everyone["keeper"], name, receipt)
        assert status == 404
        assert b"This picture is no longer there." in page
    for address in (
        reverse("costing:entry-correct", args=["cost", cost.pk]),
        reverse("costing:receipt-remove", args=[receipt.pk]),
    ):
        page = everyone["keeper"].get(address).content.decode()
        assert "This picture is no longer there." in page
        assert "<img" not in page


def test_none_has_an_address_of_its_file(everyone: dict[str, Client], receipt: Receipt) -> None:
    for address in (f"/{receipt.picture.name}", f"/files/{receipt.picture.name}", f"/media/{receipt.picture.name}"):
        assert everyone["keeper"].get(address).status_code == 404
    assert everyone["keeper"].get(reverse("costing:receipt", args=[uuid4()])).status_code == 404
