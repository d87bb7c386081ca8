"""Attacks on one member's running costs through the medians on the group page, by those who know everybody else's.

The page tells nothing that offers do not tell, and over a year of closings no yearly sum is known to less than a
quarter of its rounding (design.md section 6).
"""

import re
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Comparison, Offer
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.factories import MemberFactory
from tests.flows.league import RUNNING_STEP, Bounds, alike_in_a_year, closed, enter_car, league, log_month, rolling
from tests.flows.test_one_members_cost import on

#: The cars are there from the first day of the first year on, so that no sum is scaled up to a year.
FIRST, FIRST_YEAR, LAST = date(2024, 1, 1), date(2024, 4, 1), date(2026, 2, 1)
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


@pytest.mark.parametrize("count", [4, 5])
@pytest.mark.parametrize("name", SPENT)
def test_a_year_of_closings_holds_no_yearly_sum_finer_than_a_quarter_of_its_rounding(
    victim: Car, client_of: Callable[[Member], Client], name: str, count: int
) -> None:
    cars, spent = league(count, FIRST), SPENT[name]
    told: list[Bounds] = []
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
        if answer["suppressed"]:
            # The year would have told too much of a lesson hour, so that none of its figures was kept.
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
    told = {}
    for place in (11, 12, 17, 22):
        with on(add_months(MONTHS[place], 1).replace(day=10), 5):
            closed(MONTHS[place], "year")
            reader = client_of(somebody)
            page, offered = reader.get(GROUP).content.decode(), of_offers(reader)
            # Beside them stands nothing, for the reader has no records: nobody else's are shown to them.
            assert "Servicing nothing logged £" in shown(reader, GROUP)
        medians = medians_on(page)
        assert medians.keys() == {"Servicing"}
        assert pence(medians["Servicing"]) == Fraction(offered["servicing_per_year"]) * 100
        told[MONTHS[place]] = medians
    # Closed is closed: nothing that is entered or opened since tells another figure of an earlier year.
    with on(date(2026, 3, 20), 5):
        log_month(cars[0], date(2026, 3, 1), 1)
        reader = client_of(somebody)
        for month, medians in told.items():
            assert medians_on(reader.get(f"{GROUP}?month={month:%Y-%m}").content.decode()) == medians


def test_a_fifth_who_leaves_takes_every_median_with_them(victim: Car, client_of: Callable[[Member], Client]) -> None:
    cars = league(4, FIRST)
    for month in MONTHS:
        for car, cost in zip([victim, *cars], [5_869, 1_000, 2_000, 90_000, 95_000], strict=True):
            # The fifth of them logs no servicing in the last year: four are too few, whoever they are.
            log_month(car, month, cost, category="repairs" if car is cars[3] and month > MONTHS[10] else "servicing")
    for place, servicing in ((21, True), (22, False)):
        with on(add_months(MONTHS[place], 1).replace(day=10), 5):
            answer = closed(MONTHS[place], "year")
            page = client_of(cars[0].keeper).get(GROUP).content.decode()
        assert not answer["suppressed"]
        assert ("Servicing" in medians_on(page)) is servicing
        assert "Repairs" not in medians_on(page)
