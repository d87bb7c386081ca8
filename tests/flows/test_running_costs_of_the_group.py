"""Attacks on one member's running costs through the medians on the group page, by those who know everybody else's.

The page tells nothing that offers do not tell, and over two years of closings neither a yearly sum nor a premium is
known to less than a quarter of its rounding (design.md section 6).
"""

import re
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from fractions import Fraction
from random import Random
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.periods import days_in, months_ending, overlap
from costing.core.records import Period
from costing.models import Comparison, Offer
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import CostEntryFactory, MemberFactory
from tests.flows.league import (
    RUNNING_STEP,
    Bounds,
    YearOfBills,
    alike_in_a_year,
    closed,
    enter_car,
    held_by,
    league,
    log_month,
    rolling,
)
from tests.flows.test_one_members_cost import on

#: The cars are there from the day before the first year on: no year before it counts, for it is not whole.
FIRST, FIRST_YEAR, LAST = date(2024, 3, 31), date(2024, 4, 1), date(2026, 2, 1)
MONTHS = [add_months(FIRST_YEAR, ahead) for ahead in range(23)]
QUARTER = Fraction(RUNNING_STEP, 4)
GROUP = reverse("costing:group")

pytestmark = pytest.mark.usefixtures("db")


@pytest.fixture
def victim() -> Car:
    return enter_car(FIRST, keeper=MemberFactory.create(name="Wren Applegarth", joined_on=date(2024, 1, 8)))


def medians_on(page: str) -> dict[str, str]:
    """The group's medians of running costs on a group page, by the words of their rows."""
    _, _, section = page.partition('aria-labelledby="running"')
    rows = re.findall(r'<th scope="row">([^<]+)</th>(.*?)</tr>', section.partition("</section>")[0], re.DOTALL)
    found = {words: re.findall(r"<td[^>]*>([^<]*)</td>", cells) for words, cells in rows}
    # One's own stand in the first column; without any median there is no other.
    return {words: cells[1] for words, cells in found.items() if len(cells) > 1 and cells[1] != "not shown"}


def pence(cell: str) -> Fraction:
    return Fraction(cell.removeprefix("£").replace(",", "")) * 100


#: What the victim spends on repairs in each of 23 months, in pence.
SPENT = {
    "the same every month": [5_869] * 23,
    "now and then": [0, 12_345, 0, 0, 70_430, 0, 6_150, 0, 0, 31_999, *[0] * 3, 25_001, *[0] * 6, 14_900, 77_777, 0],
    "nothing for a year, then once": [0] * 12 + [70_430] + [0] * 10,
    "once, then nothing": [0] * 11 + [70_430] + [0] * 11,
    "at the edge of a step": [67_500] + [0] * 11 + [67_499] + [0] * 10,
}  # fmt: skip


@pytest.mark.parametrize(("name", "count"), [*((name, 5) for name in SPENT), ("now and then", 4)])
def test_a_year_of_closings_holds_no_yearly_sum_finer_than_a_quarter_of_its_rounding(
    victim: Car, client_of: Callable[[Member], Client], name: str, count: int
) -> None:
    cars, spent = league(count, FIRST), SPENT[name]
    told: list[Bounds] = []
    having: list[date] = []
    for place, month in enumerate(MONTHS):
        # The one beside the victim moves each month: with an even number, the median is the mean of the two.
        known = [100, 200, 4_000 + 361 * place, 900_000, 950_000] if count == 5 else [100, 200, 900_000, 950_000]
        log_month(victim, month, spent[place])
        for car, cost in zip(cars, known, strict=True):
            log_month(car, month, cost)
    for place in range(11, 23):
        with on(add_months(MONTHS[place], 1).replace(day=10), 5):
            answer = closed(MONTHS[place], "year")
            median = medians_on(client_of(cars[0].keeper).get(GROUP).content.decode()).get("Repairs")
        if answer["suppressed"] or MONTHS[place] in having:
            # The year would have told too much of a lesson hour, or shares days with one that has medians.
            assert median is None
            told.append(Bounds(Fraction(0), Fraction(10**8)))
            continue
        months = range(place - 11, place + 1)
        others = [100 * 12, 200 * 12, sum(4_000 + 361 * each for each in months), 900_000 * 12, 950_000 * 12]
        others = others if count == 5 else [*others[:2], *others[3:]]
        bounds = alike_in_a_year([Fraction(each) for each in others], None if median is None else pence(median))
        own = sum(spent[each] for each in months)
        assert bounds.low <= own <= bounds.high
        assert bounds.width >= RUNNING_STEP / 2 or not own
        told.append(bounds)
        if median is not None:
            having = MONTHS[place + 1 : place + 12]
    years, of_months = rolling(told)
    # That somebody had no such cost at all is told where the others are too few; how much it was never is.
    assert all(year.width >= QUARTER for year in years if year.high)
    assert all(month.width >= QUARTER for month in of_months if month.high)
    assert any(year.high for year in years)


def of_offers(reader: Client) -> dict[str, str]:
    """What an offer of a petrol car starts from for a reader who has no records of their own."""
    reader.post(reverse("costing:comparison-start"))
    add = reverse("costing:offer-add", args=[Comparison.objects.latest("pk").pk])
    reader.post(add, {"kind": "owned", "name": "A car", "price": "9000", "burns": "petrol", "proposed_for": ""})
    terms: dict[str, Any] = Offer.objects.latest("pk").terms["running"]
    return {name: str(figure) for name, figure in terms.items()}


def test_the_page_tells_what_offers_told_and_nothing_of_anybody_alone(
    victim: Car, client_of: Callable[[Member], Client]
) -> None:
    cars, somebody = league(4, FIRST), MemberFactory.create(name="Somebody without a car")
    for place, month in enumerate(MONTHS):
        for car, cost in zip([victim, *cars], [5_869 + 977 * place, 1_000, 2_000, 90_000, 95_000], strict=True):
            log_month(car, month, cost, category="servicing")
    year = f"{GROUP}?month={MONTHS[11]:%Y-%m}"
    told = []
    for place in (11, 12, 17, 22):
        with on(add_months(MONTHS[place], 1).replace(day=10), 5):
            closed(MONTHS[place], "year")
            reader = client_of(somebody)
            page, offered = reader.get(year).content.decode(), of_offers(reader)
            # Beside them stands nothing, for the reader has no records: nobody else's are shown to them.
            assert "Servicing nothing logged £" in shown(reader, year)
            # Of the years since there are none, whatever they would be: they share days with it.
            assert ("Servicing" in medians_on(reader.get(GROUP).content.decode())) is (place == 11)
        medians = medians_on(page)
        assert medians.keys() == {"Servicing"}
        assert pence(medians["Servicing"]) == Fraction(offered["servicing_per_year"]) * 100
        told.append(medians)
    # Closed is closed: nothing that is entered or opened since tells another figure.
    with on(date(2026, 3, 20), 5):
        log_month(cars[0], date(2026, 3, 1), 1)
        told.append(medians_on(client_of(somebody).get(year).content.decode()))
    assert all(medians == told[0] for medians in told)


def test_a_fifth_who_leaves_takes_every_median_with_them(victim: Car, client_of: Callable[[Member], Client]) -> None:
    cars, months = league(4, FIRST), [*MONTHS, add_months(LAST, 1)]
    for place, month in enumerate(months):
        for car, cost in zip([victim, *cars], [5_869, 1_000, 2_000, 90_000, 95_000], strict=True):
            # The fifth of them logs no servicing in the second year: four are too few, whoever they are.
            log_month(car, month, cost, category="repairs" if car is cars[3] and place > 11 else "servicing")
    for place, told in ((11, {"Servicing"}), (23, set())):
        with on(add_months(months[place], 1).replace(day=10), 5):
            answer = closed(months[place], "year")
            page = client_of(cars[0].keeper).get(GROUP).content.decode()
        assert not answer["suppressed"]
        assert medians_on(page).keys() == told


# --- Premiums over two years of closings ------------------------------------------------------------------------

#: Of so many months the years are closed in turn; before the first, a year of bills.
CLOSINGS = [add_months(date(2025, 3, 1), ahead) for ahead in range(24)]


def premiums(rng: Random, first: date) -> list[tuple[Period, int]]:
    """The victim's bills from ``first`` on, one after the other from renewal day to renewal day: days and pence."""
    found, pence_a_year = [], rng.randint(30_000, 150_000)
    renewed = first + timedelta(days=rng.randint(1, 365))
    while first < date(2027, 3, 1):
        days = Period(first, renewed - timedelta(days=1))
        found.append((days, pence_a_year * days_in(days) // 365))
        first, renewed = renewed, add_months(renewed, 12)
        pence_a_year = pence_a_year * rng.randint(80, 140) // 100
    return found


def insure(car: Car, days: Period, paid: int) -> None:
    cover = {"covers_from": days.first, "covers_to": days.last}
    CostEntryFactory.create(
        car=car, category="insurance", paid_on=days.first, amount=f"{paid // 100}.{paid % 100:02}", **cover
    )


def parts_in(year: Period, bills: Sequence[tuple[Period, int]]) -> list[Fraction]:
    """How much of each bill a year's sum has, by the days."""
    shared = [overlap(days, year) for days, _ in bills]
    return [Fraction(days_in(one) if one else 0, days_in(days)) for one, (days, _) in zip(shared, bills, strict=True)]


def drive(car: Car) -> None:
    """A thousand miles and a hundred hours in each month from the car's first whole one on, for nothing."""
    for month in [add_months(FIRST_YEAR, ahead) for ahead in range(36)]:
        if month >= car.in_service_from:
            log_month(car, month, 0)


def insured_league() -> list[Car]:
    """Two who pay far less than the victim and two who pay far more: the middle is the victim's sum, to the step."""
    cars = league(4, FIRST)
    for car, paid in zip(cars, (30_000, 60_000, 2_700_000, 2_850_000), strict=True):
        drive(car)
        insure(car, Period(FIRST, date(2027, 3, 31)), paid)
    return cars


@pytest.mark.parametrize(
    ("seed", "joins", "moves"),
    [(1, 0, False), (2, 0, False), (3, 250, False), (4, 480, False), (5, 0, True), (6, 90, True)],
)
def test_two_years_of_closings_hold_no_premium_finer_than_a_quarter_of_the_rounding(
    client_of: Callable[[Member], Client], seed: int, joins: int, moves: bool
) -> None:
    """The victim ``joins`` so many days after the others, or the first day of their second car ``moves`` each month.

    A coordinator could move it, with notice: it would sweep the sum by another factor at each closing.
    """
    rng, first = Random(seed), FIRST + timedelta(days=joins)  # noqa: S311 - cases, not secrets
    reader, victim = client_of(insured_league()[0].keeper), MemberFactory.create(joined_on=date(2024, 1, 8))
    bills, cars = premiums(rng, first), [enter_car(first, keeper=victim) for _ in range(2 if moves else 1)]
    for car in cars:
        drive(car)
    for days, paid in bills:
        insure(cars[0], days, paid)
    told: list[YearOfBills] = []
    for month in CLOSINGS:
        year = months_ending(month, 12)
        second = max(first, add_months(year.first, rng.randint(0, 11))) if moves else date.max
        Car.objects.filter(pk__in=[car.pk for car in cars[1:]]).update(in_service_from=second)
        with on(add_months(month, 1).replace(day=10), 5):
            closed(month, "year")
            median = medians_on(reader.get(GROUP).content.decode()).get("Insurance")
        if median is None:
            continue
        car_days = days_in(year) + max(0, (year.last - second).days + 1)
        parts = [part * days_in(year) / car_days for part in parts_in(year, bills)]
        low = pence(median) - Fraction(RUNNING_STEP, 2)
        told.append((parts, Bounds(low, low + RUNNING_STEP)))
        assert low <= sum(part * paid for part, (_, paid) in zip(parts, bills, strict=True)) < low + RUNNING_STEP
    # Of whoever joined in the second year only one whole year is left.
    assert len(told) == (1 if joins > 365 else 2)
    each_bill = [[Fraction(number == each) for each in range(len(bills))] for number in range(len(bills))]
    assert all(held_by(told, parts) >= QUARTER for parts in [*(parts for parts, _ in told), *each_bill])
