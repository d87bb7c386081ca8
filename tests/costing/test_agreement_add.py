"""The page that records how a car is held."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Agreement
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import AgreementFactory
from tests.fleet.keepers import hand_on

ADD = reverse("costing:agreement-add", args=["QA51ABC"])
HIRE_PURCHASE = {
    "kind": "hire_purchase",
    "starts_on": "2024-01-08",
    "price": "£11,800",
    "deposit": "1,800",
    "payment": "318.75",
    "payments": "36",
    "frequency": "month",
}

pytestmark = pytest.mark.usefixtures("today")


def test_hire_purchase_is_recorded(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(ADD, HIRE_PURCHASE | {"quoted_apr": "9.9"})
    assert (response.status_code, response.url) == (303, reverse("costing:car-cost", args=["QA51ABC"]))
    agreement = Agreement.objects.get()
    assert (agreement.car, agreement.member, agreement.starts_on) == (car, car.keeper, date(2024, 1, 8))
    assert (agreement.price, agreement.deposit) == (Decimal("11800.00"), Decimal("1800.00"))
    assert (agreement.payments, agreement.frequency, agreement.quoted_apr) == (36, "month", Decimal("9.90"))


def test_a_car_owned_outright_needs_its_price_alone(everyone: dict[str, Client], car: Car) -> None:
    owned = {"kind": "owned", "starts_on": "2024-01-08", "price": "9,400", "frequency": "month"}
    everyone["keeper"].post(ADD, owned)
    agreement = Agreement.objects.get()
    assert (agreement.kind, agreement.price, agreement.frequency) == ("owned", Decimal("9400.00"), "")


def test_sent_twice_it_is_recorded_once(everyone: dict[str, Client], car: Car) -> None:
    for _ in range(2):
        assert everyone["keeper"].post(ADD, HIRE_PURCHASE).status_code == 303
    assert Agreement.objects.get().history.count() == 1


def test_another_from_the_same_day_is_refused(everyone: dict[str, Client], car: Car) -> None:
    AgreementFactory(car=car)
    response = everyone["keeper"].post(ADD, HIRE_PURCHASE | {"price": "12,000"})
    assert "An agreement already starts on 8 January 2024: correct that one instead." in text_of(response)
    assert Agreement.objects.count() == 1


@pytest.mark.parametrize("is_recorded", [True, False])
@pytest.mark.parametrize("starts_on", ["2025-03-03", "2026-03-16"])
def test_days_of_another_keeper_are_refused_whatever_they_recorded(
    everyone: dict[str, Client],
    keeper: Member,
    colleague: Member,
    coordinator: Member,
    car: Car,
    is_recorded: bool,
    starts_on: str,
) -> None:
    if is_recorded:
        AgreementFactory(car=car, member=keeper, starts_on=starts_on, price="9876.00")
    hand_on(car, colleague, date(2026, 3, 16), coordinator)
    response = everyone["colleague"].post(ADD, HIRE_PURCHASE | {"starts_on": starts_on})
    assert "You took QA51 ABC over on 16 March 2026: your records of it begin the day after." in text_of(response)
    assert Agreement.objects.count() == is_recorded
    assert everyone["colleague"].post(ADD, HIRE_PURCHASE | {"starts_on": "2026-03-17"}).status_code == 303


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"kind": ""}, "kind", "Choose one."),
        ({"price": ""}, "price", "Fill this in"),
        ({"payments": ""}, "payments", "Fill this in"),
        ({"kind": "weekly_rental", "payment": ""}, "payment", "Fill this in"),
        ({"deposit": "11,800"}, "deposit", "nothing is borrowed"),
        ({"payments": "3"}, "payments", "less than was borrowed"),
        ({"frequency": ""}, "frequency", "monthly or weekly"),
        ({"price": "11,80"}, "price", "cannot be read"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_all_typed_is_kept(
    everyone: dict[str, Client], car: Car, changes: dict[str, str], field: str, words: str
) -> None:
    response = everyone["keeper"].post(ADD, HIRE_PURCHASE | {"quoted_apr": "9.95"} | changes)
    page = response.content.decode()
    assert words in text_of(response)
    # What does not go together is asked at the figure that is most likely wrong.
    assert f'id="id_{field}_error"' in page or not next(iter(response.context["form"].questions.values())).may_be_right
    assert 'value="9.95"' in page
    assert not Agreement.objects.exists()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_car_is_not_there(everyone: dict[str, Client], car: Car, who: str) -> None:
    assert everyone[who].get(ADD).status_code == 404
    assert everyone[who].post(ADD, HIRE_PURCHASE).status_code == 404
    assert not Agreement.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["anonymous"].post(ADD, HIRE_PURCHASE).url.startswith(reverse("account_login"))


def test_a_keeper_of_before_records_nothing_more(everyone: dict[str, Client], car: Car) -> None:
    AgreementFactory(car=car)
    car.keeper = AgreementFactory().member
    car.save()
    assert everyone["keeper"].post(ADD, HIRE_PURCHASE | {"starts_on": "2025-01-08"}).status_code == 404


def test_a_quote_that_does_not_go_with_its_figures_is_one_tap_from_right(everyone: dict[str, Client], car: Car) -> None:
    typed = HIRE_PURCHASE | {"payment": "3187.50"}
    form = everyone["keeper"].post(ADD, typed).context["form"]
    question = form.questions["payment"]
    assert question.may_be_right
    assert question.meanings[0].words == "£318.75"
    assert everyone["keeper"].post(ADD, typed | {"is_right": question.key}).status_code == 303
