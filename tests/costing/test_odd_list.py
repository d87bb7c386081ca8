"""The page on what looks odd."""

import re
from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from costing.months import months_report
from costing.queries.dismissals import kept_by
from costing.statement.report import odd_line
from fleet.models import Car
from instructors.models import Member
from instructors.queries import cooperative
from tests.costing.odd_books import TODAY, fall, insure
from tests.costing.pages import shown
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    DismissalFactory,
    FillFactory,
    KeeperTimeFactory,
    OdometerReadingFactory,
    TeachingRecordFactory,
)

LIST = reverse("costing:odd-list")

MONTHS = (("2026-02-01", "2026-02-28"), ("2026-03-01", "2026-03-16"))

pytestmark = pytest.mark.usefixtures("today")


def test_a_fallen_economy_says_why_and_opens_its_fills(everyone: dict[str, Client], car: Car) -> None:
    fall(car)
    page = shown(everyone["keeper"], LIST)
    assert "One thing looks odd: fuel economy" in page
    lower = "Lower than its usual ups and downs for six full tanks: 39.8 mpg since 14 February 2026"
    assert f"Fuel economy is down by 13% {lower}" in page
    assert "45.5 over the 24 before. That is more than chance or winter would explain." in page
    assert "Tyre pressures first, then the handbook or a technician." in page
    html = everyone["keeper"].get(LIST).content.decode()
    assert (
        f'href="{reverse("costing:entries")}?kind=fill&amp;first=2026-02-14&amp;last=2026-03-16&amp;car=QA51ABC"'
        in html
    )
    assert "36 full tanks, the last ones against earlier ones" in page


def test_it_is_said_under_the_picture_of_the_economy_too(everyone: dict[str, Client], car: Car) -> None:
    fall(car)
    february, march = (f"{reverse('costing:statement')}?first={first}&last={last}" for first, last in MONTHS)
    assert "Lower than its usual ups and downs for six full tanks: 39.8 mpg" in shown(everyone["keeper"], march)
    assert "Lower than its usual ups and downs" not in shown(everyone["keeper"], february), "it had not begun"
    FillFactory.create(car=car, unit="kwh", odometer=99_000, filled_on=TODAY)
    assert "Lower than its usual ups and downs" not in shown(everyone["keeper"], march), "it takes both"


def test_a_charge_is_told_in_miles_on_a_kwh(everyone: dict[str, Client], car: Car) -> None:
    fall(car, unit="kwh")
    page = shown(everyone["keeper"], LIST)
    assert "One thing looks odd: miles on a charge" in page
    said = (
        r"(\d+)% fewer miles on a charge Lower than its usual ups and downs for six full charges: (8.8) miles per kWh"
    )
    [(percent, since, before)] = re.findall(rf"{said} since [^,]+, ([\d.]+) over the 24 before", page)
    # What is said follows from the two figures beside it.
    assert int(percent) == int((float(before) - float(since)) * 100 / float(before) + 0.5)
    assert "36 full charges" in page


def test_the_gravest_stands_first_and_each_opens_its_place(everyone: dict[str, Client], car: Car) -> None:
    fall(car)
    insure(car)
    for day, category in ((date(2025, 6, 1), "breakdown_cover"), (date(2025, 9, 20), "breakdown_cover")):
        until = day + timedelta(days=100) if day.month == 6 else date(2026, 12, 31)
        CostEntryFactory.create(car=car, category=category, paid_on=day, covers_from=day, covers_to=until)
    page = shown(everyone["keeper"], LIST)
    assert "Three things look odd, first insurance and fuel economy" in page
    order = ["Insurance: nothing since 10 March 2026", "Fuel economy is down", "Breakdown cover: a gap of 10 days"]
    assert sorted(order, key=page.index) == order
    assert "If it was renewed, log it" in page
    assert "Nothing that you logged covers 10 to 19 September 2025, though the car was yours then." in page
    html = everyone["keeper"].get(LIST).content.decode()
    assert f'href="{reverse("costing:entries")}?category=insurance&amp;car=QA51ABC"' in html


def test_cover_to_come_is_told_too(everyone: dict[str, Client], car: Car) -> None:
    insure(car, until=date(2026, 3, 31))
    insure(car, until=date(2026, 3, 8))
    CostEntryFactory.create(
        car=car, category="insurance", covers_from=date(2026, 4, 2), covers_to=date(2027, 4, 1), paid_on=TODAY
    )
    CostEntryFactory.create(
        car=car, category="vehicle_tax", covers_from=date(2025, 4, 1), covers_to=date(2026, 3, 12), paid_on=TODAY
    )
    CostEntryFactory.create(
        car=car, category="vehicle_tax", covers_from=date(2026, 4, 1), covers_to=date(2027, 3, 31), paid_on=TODAY
    )
    page = shown(everyone["keeper"], LIST)
    assert "Two things look odd: insurance and vehicle tax" in page
    assert "Insurance: a gap to come Nothing that you logged covers 1 day, 1 April 2026, between two covers." in page
    assert "Vehicle tax: nothing since 13 March 2026 The next cover that you logged begins on 1 April 2026." in page


def test_miles_that_nothing_explains(everyone: dict[str, Client], car: Car) -> None:
    shown_miles, first = 50_000, date(2025, 12, 1)
    for number, far in enumerate((0, 300, 305, 295, 620, 300, 302)):
        shown_miles += far
        entry = FillFactory.create(car=car, filled_on=first + timedelta(days=5 * number), odometer=shown_miles)
        if far == 620:
            too_far = entry
    OdometerReadingFactory.create(car=car, read_on=date(2026, 1, 2), miles=shown_miles + 2_000)
    page = shown(everyone["keeper"], LIST)
    assert "2,000 miles in two days Between the readings of 31 December 2025 and 2 January 2026" in page
    assert "A fill may be missing before 21 December 2025" in page
    assert "you went 620 miles on 34.5 litres, which usually take you 300." in page
    assert "No fill for 2,000 miles The last one that you logged is of 31 December 2025." in page
    html = everyone["keeper"].get(LIST).content.decode()
    for place in (reverse("costing:entry-correct", args=["fill", too_far.pk]), reverse("costing:fill-log")):
        assert f'href="{place}"' in html


def test_a_charge_may_be_missing(everyone: dict[str, Client], car: Car) -> None:
    for number, miles in enumerate((50_000, 50_150, 50_300, 50_450, 50_900, 51_050)):
        day = date(2026, 3, 2) + timedelta(days=2 * number)
        FillFactory.create(car=car, filled_on=day, odometer=miles, unit="kwh", quantity="40.000")
    page = shown(everyone["keeper"], LIST)
    assert "A charge may be missing before 10 March 2026" in page
    assert "450 miles on 40.0 kWh" in page


def test_what_has_stopped_coming(everyone: dict[str, Client], car: Car) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2025, 3, 1), miles=30_000)
    OdometerReadingFactory.create(car=car, read_on=TODAY, miles=46_000)
    TeachingRecordFactory.create(car=car, from_on=date(2026, 2, 2), to_on=date(2026, 2, 8))
    for weeks in range(8, 16):
        CostEntryFactory.create(car=car, category="cleaning", paid_on=TODAY - timedelta(weeks=weeks))
    page = shown(everyone["keeper"], LIST)
    assert "No lessons since 8 February 2026 The odometer moved" in page
    assert "Cleaning: nothing for 56 days It came every 7 days or so, last on 19 January 2026." in page
    assert "No service in 16,000 miles Nothing is logged under servicing since 1 March 2025." in page
    html = everyone["keeper"].get(LIST).content.decode()
    for place in ("costing:teaching-log", "costing:cost-log"):
        assert f'href="{reverse(place)}"' in html
    assert "Three things look odd, first lessons and cleaning" in page


def test_nothing_stands_out_and_it_says_what_was_looked_at(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"], LIST)
    assert "Nothing stands out" in page
    assert "Economy: no two full tanks or charges yet. It takes 22 to tell." in page
    assert "Insurance and tax: no days of cover are logged." in page
    assert "Odometer: no reading yet." in page
    insure(car, until=date(2026, 4, 9))
    FillFactory.create(car=car, filled_on=date(2026, 3, 2), odometer=48_200)
    page = shown(everyone["keeper"], LIST)
    assert "Insurance: the days from 10 March 2025 to 9 April 2026." in page
    assert "Odometer: 1 day with a reading or a fill." in page
    FillFactory.create(car=car, filled_on=date(2026, 3, 9), odometer=48_600)
    assert "Economy: one full tank so far. It takes 22 to tell." in shown(everyone["keeper"], LIST)
    FillFactory.create(car=car, filled_on=date(2026, 3, 9), odometer=48_600, unit="kwh")
    assert "takes both fuel and charge" in shown(everyone["keeper"], LIST)


def test_it_is_reached_from_more(everyone: dict[str, Client], car: Car) -> None:
    assert f'href="{LIST}"' in everyone["keeper"].get(reverse("costing:more")).content.decode()
    page = everyone["keeper"].get(LIST).content.decode()
    assert re.search(r'<a href="/more/" aria-current="true">.*?More</a>', page)
    assert not re.search(r'<a href="/" aria-current', page)


def test_without_a_car_there_is_nothing_to_look_at(everyone: dict[str, Client]) -> None:
    page = everyone["coordinator"].get(LIST).content.decode()
    assert '<h2 id="no-car">You have no car in the book</h2>' in page
    assert f'<a class="key" href="{reverse("fleet:car-add")}">Add your car</a>' in page


def test_a_car_of_long_ago_leaves_nothing_to_look_at(everyone: dict[str, Client], keeper: Member) -> None:
    CarFactory.create(keeper=keeper, registration="QA51OLD", in_service_from="2023-01-01", in_service_to="2024-06-30")
    page = everyone["keeper"].get(LIST).content.decode()
    assert '<h2 id="no-car">Nothing to look at</h2>' in page
    assert "You had no car in service in the last twelve months." in page
    assert ">Add your next car</a>" in page


def test_each_sees_their_own_alone(everyone: dict[str, Client], car: Car, colleague_car: Car) -> None:
    insure(car)
    for who in ("colleague", "coordinator"):
        assert "Insurance: nothing since" not in shown(everyone[who], LIST)
    assert "Insurance: nothing since" in shown(everyone["keeper"], LIST)


def test_a_car_that_was_handed_over_is_looked_at_by_whoever_had_it_then(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    insure(colleague_car, member=car.keeper, until=date(2025, 6, 1))
    KeeperTimeFactory.create(car=colleague_car, keeper=car.keeper, to_on=date(2025, 8, 31))
    KeeperTimeFactory.create(car=colleague_car, from_on=date(2025, 9, 1))
    page = shown(everyone["keeper"], LIST)
    assert "Insurance: a gap of 91 days" in page
    assert "QA51 ABC" in page, "with several cars each names its own"
    assert "a gap of" not in shown(everyone["colleague"], LIST)


def test_dismissed_ones_stand_below_with_who_when_and_why(everyone: dict[str, Client], car: Car) -> None:
    insure(car)
    DismissalFactory.create(car=car, dismissed_at="2026-03-15T09:30Z")
    page = shown(everyone["keeper"], LIST)
    assert "Nothing else stands out" in page
    assert "Dismissed: 1" in page
    assert "Wren Applegarth, 15 March 2026, 09:30: The car stood in the garage" in page
    assert page.index("Dismissed: 1") < page.index("Insurance: nothing since 10 March 2026")


def test_the_line_for_the_home_page_is_made_of_the_books_it_has(car: Car, django_assert_num_queries: object) -> None:
    months = months_report(car.keeper, date(2026, 2, 1), TODAY, cooperative())
    assert odd_line(months.cars, months.books, (), TODAY) is None
    insure(car)
    months = months_report(car.keeper, date(2026, 2, 1), TODAY, cooperative())
    with django_assert_num_queries(0):  # type: ignore[operator]
        line = odd_line(months.cars, months.books, (), TODAY)
    assert line == ("One thing looks odd: insurance", LIST, "check")
    DismissalFactory.create(car=car)
    with django_assert_num_queries(1):  # type: ignore[operator]
        dismissed = kept_by(car.keeper).dismissed
    assert odd_line(months.cars, months.books, dismissed, TODAY) is None


def test_ten_cars_cost_no_more_queries_than_one(
    everyone: dict[str, Client], car: Car, django_assert_max_num_queries: object
) -> None:
    for number in range(10):
        insure(CarFactory.create(registration=f"QB{number + 10}ABC", keeper=car.keeper))
    with django_assert_max_num_queries(16):  # type: ignore[operator]
        everyone["keeper"].get(LIST)
