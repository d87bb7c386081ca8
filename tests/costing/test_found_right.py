"""The pages of a fill and a cost ask what can hardly be right, take what is meant, and keep what was found right."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import CostEntry, Fill
from costing.queries.plausible import limits_of
from fleet.models import Car
from instructors.models import Cooperative
from tests.costing.pages import fill_data, text_of
from tests.factories import FillFactory, GroupFigureFactory, MemberFactory

FILL_LOG = reverse("costing:fill-log")
pytestmark = pytest.mark.usefixtures("today")
TODAY = date(2026, 3, 16)


@pytest.fixture
def history(car: Car) -> None:
    """Eight ordinary fills up to three days ago, the last one at 41,518 miles."""
    for number in range(8):
        FillFactory(
            car=car,
            filled_on=TODAY - timedelta(days=3 + 5 * number),
            odometer=41_518 - 360 * number,
            quantity="36.280",
            amount="51.84",
        )


def sent(car: Car, **changes: Any) -> dict[str, Any]:
    return fill_data(car, odometer="417000", amount="51.90", quantity="36.2") | changes


@pytest.mark.usefixtures("history")
def test_a_nought_too_many_is_asked_about_and_its_key_saves_what_is_meant(
    everyone: dict[str, Client], car: Car
) -> None:
    page = everyone["keeper"].post(FILL_LOG, sent(car))
    assert page.status_code == 200
    assert "375,482 miles since Friday? This car runs about" in text_of(page)
    question = page.context["form"].questions["odometer"]
    assert question.meanings[0].words == "41,700"
    before = Fill.objects.count()
    answer = everyone["keeper"].post(FILL_LOG, sent(car, meant=question.meanings[0].value))
    assert answer.status_code == 303
    assert Fill.objects.count() == before + 1
    assert Fill.objects.latest("pk").odometer == 41_700


@pytest.mark.usefixtures("history")
def test_what_is_right_is_saved_with_one_tap_and_remembered(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].post(FILL_LOG, sent(car, odometer="43500"))
    key = page.context["form"].questions["odometer"].key
    assert everyone["keeper"].post(FILL_LOG, sent(car, odometer="43500", is_right=key)).status_code == 303
    fill = Fill.objects.latest("pk")
    assert "odometer_far" in fill.found_right
    to = reverse("costing:entry-correct", args=["fill", fill.pk])
    corrected = {"filled_on": "2026-03-16", "odometer": "43500", "amount": "51.95", "quantity": "36.2", "brimmed": "on"}
    asked = everyone["keeper"].post(to, corrected)
    assert asked.status_code == 303, asked.context["form"].questions
    fill.refresh_from_db()
    assert "odometer_far" in fill.found_right
    assert everyone["keeper"].post(to, corrected | {"odometer": "417000"}).status_code == 200


@pytest.mark.usefixtures("history")
def test_what_is_refused_has_its_likely_meaning_even_where_that_would_be_asked_about(
    everyone: dict[str, Client], car: Car
) -> None:
    """Litres and odometer stand in each other's row, and a fill before this one is missing."""
    page = everyone["keeper"].post(FILL_LOG, sent(car, odometer="30.74", quantity="42900"))
    (question,) = page.context["form"].questions.values()
    assert [one.words for one in question.meanings] == ["30.74, 42,900"]
    asked = everyone["keeper"].post(
        FILL_LOG, sent(car, odometer="30.74", quantity="42900", meant=question.meanings[0].value)
    )
    assert asked.context["form"]["odometer"].value() == "42900"
    assert asked.context["form"].questions["odometer"].right == "It is right"


@pytest.mark.usefixtures("history")
def test_the_same_fill_again_is_left_out_with_one_tap(everyone: dict[str, Client], car: Car) -> None:
    again = sent(car, filled_on="2026-03-13", odometer="41518", amount="51.84", quantity="36.28")
    page = everyone["keeper"].post(FILL_LOG, again)
    (question,) = page.context["form"].questions.values()
    assert question.meanings[0].words == "Leave it out"
    assert question.right == "Yes, another one"
    before = Fill.objects.count()
    answer = everyone["keeper"].post(FILL_LOG, again | {"meant": question.meanings[0].value}, follow=True)
    assert "Left out: nothing was added." in text_of(answer)
    assert Fill.objects.count() == before


def test_a_cost_with_its_point_lost_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    data = {"ref": "6f1e0c0e-4a53-4c39-8f0d-6a4d2a1f3b11", "car": car.registration, "category": "cleaning"}
    data |= {"amount": "1590", "paid_on": "2026-03-16"}
    page = everyone["keeper"].post(reverse("costing:cost-log"), data)
    assert "£1,590 for cleaning?" in text_of(page)
    likely = {one.words: one.value for one in page.context["form"].questions["amount"].meanings}
    everyone["keeper"].post(reverse("costing:cost-log"), data | {"meant": likely["£15.90"]})
    assert str(CostEntry.objects.get().amount) == "15.90"


@pytest.mark.parametrize("minimum", [5, 6])
def test_a_first_premium_is_held_against_the_groups_rounded_median(
    everyone: dict[str, Client], car: Car, minimum: int
) -> None:
    """As long as the co-op takes it for one: a minimum raised since withdraws it, and the range is physics alone."""
    GroupFigureFactory.create(span="year", insurance=950, minimum=5)
    Cooperative.objects.create(minimum_contributors=minimum)
    data = {"ref": "6f1e0c0e-4a53-4c39-8f0d-6a4d2a1f3b11", "car": car.registration, "category": "insurance"}
    data |= {"amount": "4580", "paid_on": "2026-03-16", "covers_from": "2026-03-16", "covers_to": "2027-03-15"}
    page = everyone["keeper"].post(reverse("costing:cost-log"), data | {"tuition": "unknown"})
    if minimum == 6:
        assert page.status_code == 303
        return
    assert "£4,580 for insurance? In your co-op a year of it usually costs about £950." in text_of(page)
    assert {one.words for one in page.context["form"].questions["amount"].meanings} & {"£458.00", "£458"}


@pytest.mark.usefixtures("everyone")
def test_limits_rest_on_the_members_own_fills_that_stand(car: Car) -> None:
    kept, *others = (
        FillFactory(car=car, filled_on=TODAY - timedelta(days=days), odometer=42_000 - days) for days in (9, 8, 7)
    )
    Fill.objects.filter(pk=others[0].pk).update(voided_at=timezone.now())
    FillFactory(car=car, member=MemberFactory(), filled_on=TODAY, odometer=42_000)
    limits = limits_of("fill", car.keeper, car, TODAY, TODAY, others[1])
    assert limits["fills"] == [[kept.filled_on.isoformat(), kept.odometer, 47_92, 34_500]]
    assert limits["latest"] == kept.filled_on.isoformat()
    assert "first" not in limits


@pytest.mark.usefixtures("history")
def test_a_save_reads_the_history_in_two_queries(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(2):
        limits_of("fill", car.keeper, car, TODAY, TODAY)
    with django_assert_max_num_queries(5):  # the last costs, covers of longer ago, the group's medians, what repeats
        limits_of("cost", car.keeper, car, TODAY, TODAY)
