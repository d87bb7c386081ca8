"""The page that holds the car one has against the best offer."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import (
    AgreementFactory,
    ComparisonFactory,
    CostEntryFactory,
    KeeperTimeFactory,
    OdometerReadingFactory,
    OfferFactory,
    ValuationFactory,
)

RUNNING = {"repairs_per_year": "400.00", "servicing_per_year": "260.00", "insurance": ["910.00", "790.00"]}

pytestmark = pytest.mark.usefixtures("today")


@pytest.fixture
def comparison(keeper: Member) -> Comparison:
    """Starting 1 May 2026; the best offer costs £9,500 and fetches £6,200 after two years, its running besides."""
    comparison = ComparisonFactory(member=keeper, running=RUNNING)
    OfferFactory(comparison=comparison, name="Used hatchback")
    return comparison


def page_of(comparison: Comparison, **query: Any) -> str:
    return reverse("costing:keep-or-replace", args=[comparison.pk]) + "".join(
        f"{'&' if index else '?'}{name}={value}" for index, (name, value) in enumerate(query.items())
    )


def three_years_of_repairs(car: Car) -> None:
    """£200, £400 and £600 in three years of 20,000 miles each, the last of them ending with February 2026."""
    car.in_service_from = date(2023, 3, 1)
    car.save()
    AgreementFactory(car=car, starts_on="2023-03-01", kind="owned", price="9000.00", deposit=None)
    for index, day in enumerate(["2023-02-28", "2024-02-29", "2025-02-28", "2026-02-28"]):
        OdometerReadingFactory(car=car, read_on=day, miles=20_000 * (index + 1))
    for index, day in enumerate(["2023-09-01", "2024-09-01", "2025-09-01"]):
        CostEntryFactory(car=car, paid_on=day, amount=Decimal(200 * (index + 1)))


def test_each_further_year_stands_beside_the_best_offer(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car, valued_on="2026-05-01", value="5000.00")
    page = shown(everyone["keeper"], page_of(comparison, repairs="400", rise="50", loss="20"))
    # £1,000 of value, £400 of repairs, £910 + £260 of other running; in year 2 £800, £600 and £790 + £260.
    assert "Value lost £1,000.00, repairs £400.00, other running costs £1,170.00 £2,570.00" in page
    assert "Value lost £800.00, repairs £600.00, other running costs £1,050.00 £2,450.00" in page
    # (9,500 - 6,200 + 910 + 790 + 2 x 260 + 2 x 400) over two years.
    assert "Used hatchback, a year £3,160.00" in page


def test_the_year_in_which_replacing_pays_is_told_with_its_ranges(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car, valued_on="2026-05-01", value="5000.00")
    page = shown(everyone["keeper"], page_of(comparison, repairs="900", rise="60", loss="20"))
    # 3,070; 800 + 1,440 + 1,050 = 3,290: the second year is above 3,160.
    assert "Keep it for 1 more year: in year 2 it costs more than Used hatchback." in page
    # Of the second year: 800 + 900 x (1 + rise) + 1,050 = 3,160 at 0.4556; nothing above changes it.
    assert "That holds while the yearly rise in repairs is above 45.6 % a year." in page
    # Of the first: 5,000 x loss + 2,070 = 3,160 at 0.218; of the second 5,000 x loss (1 - loss) = 670 at 0.1594.
    assert "That holds while the loss of value is between 15.9 % and 21.8 % a year." in page


def test_where_keeping_is_never_dearer_that_is_said(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car, valued_on="2026-05-01", value="1000.00")
    page = shown(everyone["keeper"], page_of(comparison, repairs="0", rise="0", loss="10"))
    assert "Keep it: in each of the next 5 years it costs no more than Used hatchback." in page
    assert "That holds whatever the yearly rise in repairs is." in page
    assert "Replace it" not in page


def test_one_more_year_may_already_be_too_dear(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    ValuationFactory(car=car, valued_on="2026-05-01", value="9000.00")
    page = shown(everyone["keeper"], page_of(comparison, repairs="2000"))
    assert "Replace it: even one more year costs more than Used hatchback." in page


def test_repairs_are_read_off_three_years_of_own_records(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    three_years_of_repairs(car)
    ValuationFactory(car=car)
    page = shown(everyone["keeper"], page_of(comparison))
    # £200 more for each 20,000 miles; half-way through the coming 24,000 the line stands at £820, then £240 a year.
    assert "Repairs cost £820.00 in the coming year: a straight line through your repairs of 3 years" in page
    assert "Each later year adds 29.3 % of that: a straight line" in page


def test_with_less_than_three_years_the_rise_is_an_assumption_and_says_so(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    AgreementFactory(car=car)
    CostEntryFactory(car=car, paid_on="2025-09-01", amount=Decimal("310.00"))
    page = shown(everyone["keeper"], page_of(comparison))
    assert "£310.00 in the coming year: your repairs from 1 March 2025 to 28 February 2026" in page
    assert "Each later year adds 15.0 % of that: our assumption" in page


def test_the_years_of_an_earlier_keeper_make_no_line(
    everyone: dict[str, Client], comparison: Comparison, colleague: Member, car: Car
) -> None:
    three_years_of_repairs(car)
    for model in (car.costentry_set, car.agreement_set):
        model.filter(car=car).update(member=colleague)
    KeeperTimeFactory(car=car, keeper=colleague, from_on="2023-03-01", to_on="2025-02-28")
    KeeperTimeFactory(car=car, keeper=car.keeper, from_on="2025-03-01")
    ValuationFactory(car=car, valued_on="2025-03-01")
    CostEntryFactory(car=car, paid_on="2025-10-01", amount=Decimal("310.00"))
    page = shown(everyone["keeper"], page_of(comparison))
    assert "£310.00 in the coming year: your repairs from 1 March 2025 to 28 February 2026" in page
    assert "our assumption, as your records don’t reach back three years" in page


def test_of_a_new_car_the_repairs_are_those_of_the_comparison(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    car.in_service_from = date(2025, 12, 1)
    car.save()
    ValuationFactory(car=car)
    page = shown(everyone["keeper"], page_of(comparison))
    assert "Repairs cost £400.00 in the coming year: the running costs of this comparison." in page


def test_the_value_goes_on_falling_at_the_co_ops_rate(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car, valued_on="2025-05-01", value="8000.00")
    page = shown(everyone["keeper"], page_of(comparison))
    assert "The car is worth £6,800.00: £8,000.00 on 1 May 2025, less the co-op’s yearly rate up to 1 May 2026." in page
    assert "15.0 % of what is left: the co-op’s yearly rate." in page


def test_money_tied_up_counts_where_the_comparison_discounts(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    comparison.use = comparison.use | {"discount_rate": "0.05"}
    comparison.save()
    ValuationFactory(car=car, valued_on="2026-05-01", value="5000.00")
    assert "money tied up in it £250.00" in shown(everyone["keeper"], page_of(comparison))


def test_the_picture_says_the_same_as_the_table(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    ValuationFactory(car=car, valued_on="2026-05-01", value="5000.00")
    page = everyone["keeper"].get(page_of(comparison, repairs="400", rise="50", loss="20")).content.decode()
    print(page[page.index("<desc") :][:400])
    assert "Year 1: £2,570.00; Year 2: £2,450.00;" in page
    assert "Offer: £3,160.00.</desc>" in page


def test_the_picture_adds_up_to_each_year_and_has_the_offer_across(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car)
    context = everyone["keeper"].get(page_of(comparison)).context
    found, chart = context["found"], context["chart"]
    assert [column.total for column in chart.columns] == [year.pence for year in found.years]
    assert set(chart.across.pence) == {found.best_per_year}
    assert chart.title == context["answer"]


def test_what_cannot_be_read_is_said_beside_its_field(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    ValuationFactory(car=car)
    page = everyone["keeper"].get(page_of(comparison, rise="much")).content.decode()
    assert 'id="id_rise_error"' in page
    assert 'value="much"' in page


def test_a_car_without_a_value_says_what_is_missing(
    everyone: dict[str, Client], comparison: Comparison, car: Car
) -> None:
    page = everyone["keeper"].get(page_of(comparison)).content.decode()
    assert "Nobody has said what this car is worth" in page
    assert reverse("costing:valuation-add", args=["QA51ABC"]) in page


def test_a_hired_car_has_nothing_to_lose(everyone: dict[str, Client], comparison: Comparison, car: Car) -> None:
    AgreementFactory(car=car, kind="weekly_rental", price=None)
    assert "This car is hired" in shown(everyone["keeper"], page_of(comparison))
    page = everyone["keeper"].get(page_of(comparison)).content.decode()
    assert reverse("costing:offer-add", args=[comparison.pk]) in page
    assert reverse("costing:valuation-add", args=["QA51ABC"]) not in page


def test_without_a_complete_offer_there_is_nothing_to_hold_it_against(
    everyone: dict[str, Client], keeper: Member, car: Car
) -> None:
    empty = ComparisonFactory(member=keeper)
    assert "The comparison isn't complete yet" in shown(everyone["keeper"], page_of(empty))


def test_without_a_car_that_is_said(everyone: dict[str, Client], stranger: Member) -> None:
    comparison = OfferFactory(comparison__member=stranger).comparison
    page = everyone["stranger"].get(page_of(comparison)).content.decode()
    assert "You keep no car yet" in page
    assert reverse("fleet:car-add") in page


def test_with_two_cars_either_can_be_looked_at(
    everyone: dict[str, Client], comparison: Comparison, keeper: Member, car: Car, colleague_car: Car
) -> None:
    colleague_car.keeper = keeper
    colleague_car.save()
    page = shown(everyone["keeper"], page_of(comparison, car="QB02XYZ"))
    assert "We can't say yet for QB02 XYZ" in page


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_anothers_comparison_is_not_there(everyone: dict[str, Client], comparison: Comparison, who: str) -> None:
    assert everyone[who].get(page_of(comparison)).status_code == 404


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], comparison: Comparison) -> None:
    assert everyone["anonymous"].get(page_of(comparison)).url.startswith(reverse("account_login"))
