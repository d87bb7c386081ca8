"""The page /group/: own costs against the group's median."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from costing.charts import beside_median
from costing.core.group import Shown
from costing.models import Fill, GroupFigure, TeachingRecord
from fleet.models import Car
from instructors.models import Cooperative
from tests.costing.pages import shown, teach_february
from tests.factories import CostEntryFactory, FillFactory, GroupFigureFactory, HireFactory, TeachingRecordFactory

GROUP = reverse("costing:group")

pytestmark = pytest.mark.usefixtures("today")


def close(month: date, **figures: Any) -> None:
    for span in ("month", "year"):
        GroupFigureFactory(month=month, span=span, **figures)


def test_the_last_closed_month_is_shown_with_the_year_to_it(everyone: dict[str, Client], car: Car) -> None:
    close(date(2026, 2, 1))
    teach_february(car)
    page = shown(everyone["keeper"], GROUP)
    assert "A lesson hour £1.67 £6.80" in page
    # Twenty lessons in thirty hours: one and a half of the group's lesson hours.
    assert "A lesson like yours £2.50 £10.20" in page
    assert "A mile £0.10 £0.42" in page
    assert "12 months to February 2026" in page
    assert "6 members contribute" in page
    assert "1 is left out because something was not logged" in page
    assert "rounded to 20p a lesson hour and 2p a mile" in page
    assert "at least five members contribute, and the middle half only when at least eight do and it could" in page


@pytest.mark.parametrize(("in_year", "times"), [(6, 1), (7, 2)])
def test_what_is_said_of_month_and_year_alike_is_said_once(
    everyone: dict[str, Client], in_year: int, times: int
) -> None:
    for span, count in (("month", 6), ("year", in_year)):
        GroupFigureFactory(month=date(2026, 2, 1), span=span, contributor_count=count)
    page = shown(everyone["colleague"], GROUP)
    assert page.count("members contribute to the group's median") == times
    assert page.count("so that nobody's own cost can be worked out") == times


def test_of_a_month_that_is_not_closed_it_is_said_once(everyone: dict[str, Client]) -> None:
    page = shown(everyone["colleague"], GROUP)
    assert page.count("The book has no group figures for February 2026 yet") == 1


@pytest.mark.parametrize(
    ("own", "median", "step", "words"),
    [
        (449, 450, 50, "about the group’s £4.50 (rounded to 50p)"),
        (450, 450, 50, "about the group’s £4.50 (rounded to 50p)"),
        (474, 450, 50, "about the group’s £4.50 (rounded to 50p)"),
        (426, 450, 50, "about the group’s £4.50 (rounded to 50p)"),
        (425, 450, 50, "about 30p below the group’s £4.50 (rounded to 50p)"),
        (387, 450, 50, "about 60p below the group’s £4.50 (rounded to 50p)"),
        (545, 450, 50, "about £1.00 above the group’s £4.50 (rounded to 50p)"),
        (459, 450, 20, "about the group’s £4.50 (rounded to 20p)"),
        (460, 450, 20, "about 10p above the group’s £4.50 (rounded to 20p)"),
        (455, 450, 10, "about 10p above the group’s £4.50 (rounded to 10p)"),
        (454, 450, 10, "about the group’s £4.50 (rounded to 10p)"),
        (454, None, 10, ""),
    ],
)
def test_no_more_is_said_than_a_rounded_median_tells(own: int, median: int | None, step: int, words: str) -> None:
    assert beside_median(own, Shown(6, 0, 5, step, median is None, median, None, None, None)) == words


def test_the_headline_says_that_the_median_is_rounded(everyone: dict[str, Client], car: Car) -> None:
    close(date(2026, 2, 1), rounded_to=50, median_cost_per_lesson_hour="1.50")
    teach_february(car)
    page = shown(everyone["keeper"], GROUP)
    assert "February 2026: a lesson hour cost £1.67, about the group’s £1.50 (rounded to 50p)." in page


def test_quartiles_are_shown_where_there_are_some(everyone: dict[str, Client]) -> None:
    close(
        date(2026, 2, 1),
        contributor_count=8,
        lower_quartile_cost_per_lesson_hour="6.00",
        upper_quartile_cost_per_lesson_hour="7.80",
    )
    assert "lies between about £6.00 and £7.80 a lesson hour" in shown(everyone["stranger"], GROUP)


def test_eight_whose_quartiles_were_left_out_have_their_median_alone(everyone: dict[str, Client]) -> None:
    close(date(2026, 2, 1), contributor_count=8)
    page = shown(everyone["stranger"], GROUP)
    assert "8 members contribute to the group's median" in page
    assert "The middle half of the group lies" not in page


def test_whoever_contributes_nothing_sees_the_median_all_the_same(everyone: dict[str, Client]) -> None:
    close(date(2026, 2, 1))
    page = shown(everyone["stranger"], GROUP)
    assert "A lesson hour not known £6.80" in page
    # The group's is for a lesson as long as one's own, and nothing tells how long that is.
    assert "A lesson like yours not known needs yours" in page


def test_why_both_are_not_known_is_said_once(everyone: dict[str, Client], car: Car) -> None:
    close(date(2026, 2, 1))
    why = "You had no car in service then"
    page = shown(everyone["stranger"], GROUP)
    assert page.count(why) == 1
    assert f"Why it is not known {why}" in page
    assert "Why it is not known The same as in February 2026" in page
    # What is missing in the year alone stands beside it.
    drive_a_year(car)
    Fill.objects.filter(filled_on=date(2026, 2, 28)).update(filled_on=date(2026, 2, 20))
    TeachingRecord.objects.update(from_on=date(2025, 4, 1))
    month, _, year = shown(everyone["keeper"], GROUP).partition("12 months to February 2026")
    year = year.partition("Running costs")[0]
    assert "No fuel or charge logged after 20 February 2026" in month
    assert "The same as in February 2026 No lessons logged before 1 April 2025" in year
    assert "No fuel or charge logged after 20 February 2026" not in year


def drive_a_year(car: Car) -> None:
    """A year to February, known to its end: 12,000 miles for £960 of petrol, a premium, and a service."""
    FillFactory(car=car, filled_on="2025-02-28", odometer=10_000, amount=0)
    FillFactory(car=car, filled_on="2026-02-28", odometer=22_000, amount="960.30")
    HireFactory(car=car, starts_on="2025-03-01", payments=12, payment=0)
    TeachingRecordFactory(car=car, from_on="2025-02-28", to_on="2026-02-28", private_miles=0)
    CostEntryFactory(car=car, category="insurance", amount="1127.34", covers_from="2025-03-01", covers_to="2026-02-28")
    CostEntryFactory(car=car, category="servicing", amount="212.45", paid_on="2025-06-02")


def running_of(page: str) -> str:
    """The words of the section on running costs."""
    return page[page.index("Running costs of these 12 months") :].partition("Month February")[0]


MEDIANS = {"fuel_pence_per_mile_petrol": "13.50", "insurance": "1150.00", "mot": "50.00"}


def test_the_years_running_costs_stand_beside_ones_own(everyone: dict[str, Client], car: Car) -> None:
    drive_a_year(car)
    GroupFigureFactory()
    GroupFigureFactory(span="year", fuel_pence_per_mile_diesel="12.00", **MEDIANS)
    page = running_of(shown(everyone["keeper"], GROUP))
    # One's own to the penny, the group's as it is rounded; where either is absent it says why.
    assert "Fuel a mile, petrol 8.00p 13.5p Fuel a mile, diesel no such car 12p" in page
    assert "Insurance £1,127.34 £1,150 MOT nothing logged £50 Servicing £212.45 not shown" in page
    assert "rounded to £50 a year and half a penny a mile" in page
    assert "Where none is shown, fewer than 5 members had" in page
    # Of nobody else's figures is anything there but the medians.
    for other in ("colleague", "coordinator", "stranger"):
        page = running_of(shown(everyone[other], GROUP))
        assert "Insurance nothing logged £1,150" in page
        assert "1,127.34" not in page
        assert "212.45" not in page


def test_fuel_is_not_known_of_a_year_whose_end_nobody_has_logged(everyone: dict[str, Client], car: Car) -> None:
    drive_a_year(car)
    Fill.objects.filter(filled_on=date(2026, 2, 28)).update(filled_on=date(2026, 2, 20))
    GroupFigureFactory()
    GroupFigureFactory(span="year", **MEDIANS)
    page = running_of(shown(everyone["keeper"], GROUP))
    assert "Fuel a mile, petrol not known 13.5p" in page
    assert "Insurance £1,127.34 £1,150" in page


def test_running_costs_of_too_few_or_of_a_lower_minimum_are_not_shown(everyone: dict[str, Client], car: Car) -> None:
    drive_a_year(car)
    GroupFigureFactory()
    year = GroupFigureFactory(span="year", contributor_count=9, **MEDIANS)
    Cooperative.objects.create(minimum_contributors=7)
    page = running_of(shown(everyone["keeper"], GROUP))
    assert "Insurance £1,127.34 Servicing" in page
    assert "fewer than 7 members with a car on every day had each of these costs, or the members have raised" in page
    assert "1,150" not in page
    # A year that was not kept has none either.
    GroupFigure.objects.filter(pk=year.pk).delete()
    GroupFigureFactory(span="year", median_cost_per_lesson_hour=None, median_cost_per_mile=None)
    assert "The group's medians are not shown, for the reason above" in running_of(shown(everyone["keeper"], GROUP))


def test_running_costs_stand_on_the_page_of_the_month_they_were_closed_with(
    everyone: dict[str, Client], car: Car
) -> None:
    drive_a_year(car)
    close(date(2026, 2, 1))
    GroupFigureFactory(month=date(2026, 1, 1))
    GroupFigureFactory(month=date(2026, 1, 1), span="year", insurance="900.00")
    page = everyone["keeper"].get(GROUP).content.decode()
    assert '<a class="link" href="?month=2026-01">See the 12 months to January 2026</a>' in page
    assert "£900" not in page
    # One's own beside another year's medians would compare what cannot be compared.
    assert "1,127.34" not in page
    page = shown(everyone["keeper"], f"{GROUP}?month=2026-01")
    assert "Running costs of these 12 months" in page
    # One's own are of that very year: the premium began in its second month.
    assert "Insurance £1,040.85 £900" in running_of(page)
    assert "are closed once a year." not in page


def test_too_few_contributors_show_nothing_but_their_number(everyone: dict[str, Client]) -> None:
    close(date(2026, 2, 1), contributor_count=1, median_cost_per_lesson_hour=None, median_cost_per_mile=None)
    page = shown(everyone["colleague"], GROUP)
    assert "The group's figures are not shown: 1 member contributes to this period, and it takes 5" in page
    assert "beside the group" not in page


def test_a_minimum_raised_since_hides_what_was_kept(everyone: dict[str, Client]) -> None:
    close(date(2026, 2, 1))
    Cooperative.objects.create(minimum_contributors=7)
    page = shown(everyone["colleague"], GROUP)
    assert "6 members contribute to this period, and it takes 7" in page
    assert "£6.80" not in page


def test_a_year_that_was_not_kept_says_why(everyone: dict[str, Client]) -> None:
    GroupFigureFactory()
    GroupFigureFactory(span="year", median_cost_per_lesson_hour=None, median_cost_per_mile=None)
    page = shown(everyone["colleague"], GROUP)
    year = page[page.index("12 months to February 2026") :]
    assert "together with other months and years they could have given away one member's own cost" in year


def test_an_earlier_closed_month_may_be_chosen(everyone: dict[str, Client]) -> None:
    close(date(2026, 2, 1))
    close(date(2026, 1, 1), median_cost_per_lesson_hour="6.60")
    assert '<option value="2026-01">January 2026</option>' in everyone["keeper"].get(GROUP).content.decode()
    page = shown(everyone["keeper"], f"{GROUP}?month=2026-01")
    assert "£6.60" in page
    assert "12 months to January 2026" in page


@pytest.mark.parametrize("month", ["2026-03", "2025-07", "1999-01", "2026-13", "never", "2026-01-01"])
def test_a_month_never_closed_is_not_found_and_not_closed_by_asking(everyone: dict[str, Client], month: str) -> None:
    close(date(2026, 2, 1))
    assert everyone["keeper"].get(GROUP, {"month": month}).status_code == 404
    assert set(GroupFigure.objects.values_list("month", flat=True)) == {date(2026, 2, 1)}


def test_looking_closes_nothing_and_says_when_it_will_be(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    with time_machine.travel(datetime(2026, 3, 9, 12, tzinfo=UTC), tick=False):
        page = shown(everyone["keeper"], GROUP)
    assert "February 2026" in page
    assert "come out on 10 March 2026, when the month closes" in page
    everyone["keeper"].get(reverse("costing:home"))
    everyone["keeper"].post(reverse("costing:comparison-start"))
    assert not GroupFigure.objects.exists()


def test_figures_are_not_promised_for_a_day_gone_by(everyone: dict[str, Client]) -> None:
    page = shown(everyone["keeper"], GROUP)
    assert "come out on" not in page
    assert "The book has no group figures for February 2026 yet: the month has not been closed." in page


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(GROUP).url.startswith(reverse("account_login"))
