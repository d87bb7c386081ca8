"""What takes long: a member may have two of them under way, so that nobody's files keep the others waiting."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config.limits import Allowance, give_back, spend
from costing.models import CostEntry
from fleet.models import Car
from instructors import access
from instructors.models import Member
from tests.costing.bringing import BRING, save, send
from tests.costing.pages import cost_data
from tests.costing.receipts import PHOTO

COST_LOG, ROWS = reverse("costing:cost-log"), "Date,Category,Amount\n5/3/2026,Other,1.00\n"
JSON = {"Accept": "application/json"}

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def of(member: Member) -> Allowance:
    return access._AT_ONCE.of(f"member {member.pk}")


def with_photo(data: dict[str, Any]) -> dict[str, Any]:
    return data | {"receipt": SimpleUploadedFile("r", PHOTO)}


def test_a_third_file_waits_for_the_two_before(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    under_way = [spend([of(keeper)]) for _ in range(2)]
    sent = with_photo(cost_data(car))
    told = everyone["keeper"].post(COST_LOG, sent, headers=JSON)
    assert (told.status_code, told.json(), told["Retry-After"]) == (429, {}, "10")
    page = send(everyone["keeper"], ROWS)
    assert page.status_code == 429
    assert "Other files of yours are still under way" in page.content.decode()
    assert everyone["keeper"].get(BRING).status_code == 200
    assert not CostEntry.objects.exists()
    for counted in under_way:
        give_back(counted)
    assert everyone["keeper"].post(COST_LOG, with_photo(cost_data(car)), headers=JSON).status_code == 201


def test_what_brings_no_file_waits_for_nothing(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    for _ in range(2):
        spend([of(keeper)])
    assert everyone["keeper"].post(COST_LOG, cost_data(car), headers=JSON).status_code == 201


def test_another_member_waits_for_nobody(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    assert colleague_car.keeper is not None
    for _ in range(2):
        spend([of(colleague_car.keeper)])
    assert everyone["keeper"].post(COST_LOG, with_photo(cost_data(car)), headers=JSON).status_code == 201


def test_one_after_another_goes_on(everyone: dict[str, Client], car: Car) -> None:
    for number in range(5):
        page = send(everyone["keeper"], ROWS.replace("1.00", f"{number + 1}.00"))
        assert save(everyone["keeper"], page).status_code == 303, number


@pytest.mark.parametrize("page", ["statement-pdf", "year-pdf", "statement-csv", "pot-pdf"])
def test_a_third_paper_waits_for_the_two_before(
    everyone: dict[str, Client], car: Car, keeper: Member, page: str
) -> None:
    address = f"{reverse(f'costing:{page}')}?first=2026-02-01&last=2026-02-28"
    under_way = [spend([of(keeper)]) for _ in range(2)]
    answer = everyone["keeper"].get(address)
    assert (answer.status_code, answer["Retry-After"]) == (429, "10")
    assert everyone["colleague"].get(address).status_code != 429
    for counted in under_way:
        give_back(counted)
    for _ in range(3):
        assert everyone["keeper"].get(address).status_code == 200


def test_all_members_together_get_four_papers_at_once(everyone: dict[str, Client], car: Car) -> None:
    address = f"{reverse('costing:statement-csv')}?first=2026-02-01&last=2026-02-28"
    under_way = [spend([access._AT_ONCE_OF_ALL.of("everybody")]) for _ in range(4)]
    assert everyone["keeper"].get(address).status_code == 429
    give_back(under_way[0])
    assert everyone["keeper"].get(address).status_code == 200
