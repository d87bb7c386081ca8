"""Attacks on one member's cost through what the group is shown, by those who know everybody else's.

Each works out the tightest bounds that the attackers can hold, from the pages and commands alone, and fails if they
are finer than design.md section 6 says: the rounding for one figure, a quarter of it for twelve months and their year.
"""

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from costing.models import Comparison, CostEntry, GroupFigure, Offer, ToldOfContributor
from costing.tasks import close_months
from fleet.core.days import add_months
from fleet.models import Car
from instructors.models import Act, Cooperative, Member
from tests.costing.pages import fill_data, save, shown
from tests.factories import (
    CarFactory,
    CostEntryFactory,
    FillFactory,
    HireFactory,
    MemberFactory,
    TeachingRecordFactory,
)
from tests.flows.league import (
    HOURS,
    alike,
    closed,
    enter_car,
    league,
    log_month,
    of_the_year,
    pence_of,
    together,
)

LONDON = ZoneInfo("Europe/London")
FIRST = date(2025, 1, 1)
FEBRUARY, MARCH = date(2026, 2, 1), date(2026, 3, 1)
STEP, QUARTER = 20, 5
#: What the victim spends in a month, in pence: 704.3p a lesson hour.
SECRET = 70_430

pytestmark = pytest.mark.usefixtures("db")


@pytest.fixture
def victim() -> Car:
    return enter_car(FIRST, keeper=MemberFactory.create(name="Wren Applegarth", joined_on=date(2024, 1, 8)))


def on(day: date, hour: int = 0, minute: int = 0) -> Any:
    return time_machine.travel(datetime(day.year, day.month, day.day, hour, minute, tzinfo=LONDON), tick=False)


def per_hour(pence: int) -> Fraction:
    return Fraction(pence, HOURS)


# --- One closing ------------------------------------------------------------------------------------------


def test_invited_members_with_extreme_cars_and_everybody_else_out_for_five_minutes_change_nothing(
    victim: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    honest = league(5, FIRST)
    for car, pence in zip([victim, *honest], (SECRET, 50_000, 60_000, 65_000, 80_000, 90_000), strict=True):
        log_month(car, FEBRUARY, pence)
    at_work = client_of(coordinator)
    extreme = []
    with on(date(2026, 2, 1), 8):
        for number, pence in enumerate((100, 200, 900_000, 950_000)):
            puppet = MemberFactory.create(name=f"Invented {number}", joined_on=date(2026, 2, 1))
            extreme.append(enter_car(date(2026, 2, 1), keeper=puppet))
            log_month(extreme[-1], FEBRUARY, pence)

    def serve(car: Car, until: str) -> None:
        sent = {"in_service_from": car.in_service_from.isoformat(), "in_service_to": until, "odometer": "10300"}
        answer = at_work.post(reverse("fleet:car-service", args=[car.registration]), sent)
        assert answer.status_code == 303, answer.content.decode()

    with on(date(2026, 3, 9), 23, 58):
        for car in honest:
            serve(car, "2026-02-10")
    with on(date(2026, 3, 10), 0, 1):
        at_work.get(reverse("costing:group"))
        close_months()
    with on(date(2026, 3, 10), 0, 3):
        for car in honest:
            serve(car, "")
        answer = closed(FEBRUARY)
    # The invented ones have no standing, and the honest ones were in service as far as they knew: all six count.
    assert (answer["contributors"], answer["out"]) == (6, 0)
    known = [per_hour(pence) for pence in (50_000, 60_000, 65_000, 80_000, 90_000)]
    assert alike(known, answer).width >= STEP
    # And each of them is told by mail, both times.
    for car in honest:
        assert Act.objects.filter(concerns=car.keeper, field="in_service_to", mail__isnull=False).count() == 2


def test_whoever_has_the_car_for_a_minute_brings_nobody_into_the_figures_by_a_fill(
    victim: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    """A car charged at home: no reading tells its miles, so that its keeper is out. Untold miles would do."""
    known = [100, 200, 900_000, 950_000]
    for car, pence in zip(league(4, FIRST), known, strict=True):
        log_month(car, FEBRUARY, pence)
    CostEntryFactory.create(car=victim, paid_on=FEBRUARY, category="repairs", amount="704.30")
    last = date(2026, 2, 28)
    TeachingRecordFactory.create(
        car=victim, from_on=FEBRUARY, to_on=last, lesson_count=HOURS, minutes=60 * HOURS, private_miles=0
    )
    at_work, mark = client_of(coordinator), victim.registration
    with on(date(2026, 3, 9), 23, 50):
        hand_on, typed = reverse("fleet:car-hand-over", args=[mark]), {"on": "2026-03-09", "odometer": "10400"}
        at_work.post(hand_on, typed | {"keeper": coordinator.pk})
        data = fill_data(victim, odometer="10400", filled_on="2026-03-09")
        assert save(at_work, reverse("costing:fill-log"), data).status_code == 303
        at_work.post(hand_on, typed | {"keeper": victim.keeper_id})
    with on(date(2026, 3, 10), 5):
        answer = closed(FEBRUARY)
    assert (answer["contributors"], answer["suppressed"]) == (4, True)


def test_whoever_has_the_car_for_a_minute_moves_no_miles_by_a_fill(
    victim: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    for car, pence in zip([victim, *league(4, FIRST)], [SECRET, 100, 200, 900_000, 950_000], strict=True):
        log_month(car, add_months(FEBRUARY, -1), 60_000)
        log_month(car, FEBRUARY, pence)
    shown_then = victim.fill_set.latest("odometer").odometer
    at_work, mark = client_of(coordinator), victim.registration
    with on(date(2026, 3, 9), 23, 50):
        hand_on, typed = reverse("fleet:car-hand-over", args=[mark]), {"on": "2026-02-28", "odometer": shown_then}
        assert at_work.post(hand_on, typed | {"keeper": coordinator.pk}).status_code == 303
        data = fill_data(victim, odometer=str(shown_then + 20_000), filled_on="2026-02-28")
        assert save(at_work, reverse("costing:fill-log"), data).status_code == 303
        back = {"keeper": victim.keeper_id}
        # Below the fill of that day the book takes no reading.
        assert at_work.post(hand_on, typed | back).status_code == 200
        assert at_work.post(hand_on, typed | back | {"odometer": shown_then + 20_000}).status_code == 303
    with on(date(2026, 3, 10), 5):
        answer = closed(FEBRUARY)
    # The victim, in the middle of five, ran 1,000 miles for £704.30, not 21,000.
    assert (answer["contributors"], answer["median_cost_per_mile"]) == (5, "0.70")


def test_a_second_car_taken_away_on_the_eve_counts_all_the_same(
    victim: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    for car, pence in zip(league(4, FIRST), [100, 200, 900_000, 950_000], strict=True):
        log_month(car, FEBRUARY, pence)
    log_month(victim, FEBRUARY, SECRET)
    with on(FIRST):
        second = CarFactory.create(keeper=victim.keeper, in_service_from=FIRST)
    HireFactory.create(car=second, starts_on=FIRST)
    for day, miles in ((FIRST, 1_000), (date(2026, 1, 31), 2_000), (date(2026, 2, 28), 5_000)):
        FillFactory.create(car=second, filled_on=day, odometer=miles, amount=0)
    with on(date(2026, 3, 9), 23, 50):
        page = reverse("fleet:car-hand-over", args=[second.registration])
        typed = {"keeper": coordinator.pk, "on": "2026-03-09", "odometer": "5000"}
        assert client_of(coordinator).post(page, typed).status_code == 303
    with on(date(2026, 3, 10), 5):
        answer = closed(FEBRUARY)
    # Of two cars together: £704.30 over their miles, not over those of one.
    both = (victim.fill_set.latest("odometer").odometer - 10_000) * 28 // 424 + 3_000
    assert pence_of(answer["median_cost_per_mile"]) < SECRET / both + 2


@pytest.mark.parametrize("count", range(9))
def test_invented_members_with_standing_walk_the_median_over_every_rank(victim: Car, count: int) -> None:
    honest = [50_000, 61_000, 72_000, 83_000]
    puppets = [[100, 900_000][number % 2] for number in range(count)]
    for car, pence in zip(league(4 + count, FIRST), [*honest, *puppets], strict=True):
        log_month(car, FEBRUARY, pence)
    log_month(victim, FEBRUARY, SECRET)
    with on(MARCH.replace(day=10), 5):
        answer = closed(FEBRUARY)
    assert answer["contributors"] == 5 + count
    bounds = alike([per_hour(pence) for pence in (*honest, *puppets)], answer)
    assert bounds.low <= per_hour(SECRET) < bounds.high
    assert bounds.width >= STEP


@pytest.mark.parametrize(("victims", "are_kept"), [(SECRET, False), (SECRET - 100, False), (SECRET + 100, True)])
def test_seven_of_eight_in_league_hold_nothing_finer_between_a_quartile_and_the_median(
    victim: Car, victims: int, are_kept: bool
) -> None:
    """The lower quartile says that a lesson hour cost 704p or more, and the median that it cost less than 704.5p.

    So it would be told by quartiles left out there alone: they are left out with the victim on either side.
    """
    known = [10_000, 24_800, 70_400, 79_550, 90_000, 100_000, 110_000]
    for car, pence in zip([victim, *league(7, FIRST)], [victims, *known], strict=True):
        log_month(car, FEBRUARY, pence)
    with on(MARCH.replace(day=10), 5):
        answer = closed(FEBRUARY)
    assert (answer["contributors"], answer["suppressed"]) == (8, False)
    # With 704.5p or more the median is another, as everybody sees, and nothing is narrow.
    assert (answer["lower_quartile_cost_per_lesson_hour"] is not None) is are_kept
    assert alike([per_hour(pence) for pence in known], answer).width >= QUARTER


def test_the_minimum_raised_and_lowered_and_the_rounding_made_finer_show_no_more(
    victim: Car, coordinator: Member, client_of: Callable[[Member], Client]
) -> None:
    known = [100, 200, 900_000, 950_000]
    for car, pence in zip(league(4, FIRST), known, strict=True):
        log_month(car, FEBRUARY, pence)
    log_month(victim, FEBRUARY, SECRET)
    at_work = client_of(coordinator)
    page, others = reverse("instructors:settings"), [per_hour(pence) for pence in known]

    def choose(minimum: int, rounding: int) -> None:
        asked = {
            "name": "Three Valleys", "nation": "GB", "reminder_hour": 7, "minimum_contributors": minimum,
            "closing_day": 10, "rounding": rounding, "depreciation_percent": 15, "tyre_life_miles": 25_000,
        }  # fmt: skip
        assert at_work.post(page, asked).status_code == 303

    with on(date(2026, 3, 9), 12):
        choose(5, 10)
    with on(date(2026, 3, 10), 5):
        answer = closed(FEBRUARY)
        assert answer["rounded_to"] == STEP
        assert alike(others, answer).width >= STEP
        for minimum, rounding in ((9, 10), (5, 50), (5, 10)):
            choose(minimum, rounding)
            again = closed(FEBRUARY)
            if again["suppressed"]:
                assert minimum == 9
            else:
                assert again == answer
                assert shown(at_work, reverse("costing:group")).count("£7.00") >= 1
    assert Cooperative.objects.get().rounding == 10


def test_a_member_who_leaves_or_joins_leaves_no_figure_of_too_few(victim: Car) -> None:
    others = league(4, FIRST)
    for month in (add_months(FEBRUARY, -1), FEBRUARY):
        log_month(victim, month, SECRET)
        # In February one of the league has left, so that the other three and the victim are four.
        for car, pence in zip(others[: 4 if month < FEBRUARY else 3], (100, 200, 900_000, 950_000), strict=False):
            log_month(car, month, pence)
    joined = enter_car(FEBRUARY, keeper=MemberFactory.create(joined_on=date(2025, 12, 31)))
    log_month(joined, FEBRUARY, 99_999)
    with on(MARCH.replace(day=10), 5):
        january, february = closed(add_months(FEBRUARY, -1)), closed(FEBRUARY)
    assert january["contributors"] == 5
    assert alike([per_hour(pence) for pence in (100, 200, 900_000, 950_000)], january).width >= STEP
    # The one who joined 59 days before the month's end stands in for nobody.
    assert (february["contributors"], february["suppressed"]) == (4, True)
    assert {value for name, value in february.items() if "cost" in name} == {None}


# --- A year of closings -----------------------------------------------------------------------------------


YEARS = {
    "in the middle of its steps": [SECRET - 430] * 12,
    "at an edge in one month": [70_900] * 11 + [72_900],
    "at an edge in every month": [70_990] * 11 + [71_010],
    "all over the place": [
        64_210, 71_050, 69_020, 80_080, 70_990, 73_310, 66_640, 71_011, 90_500, 70_999, 61_230, 75_050,
    ],
}  # fmt: skip


@pytest.mark.parametrize("name", YEARS)
def test_four_of_five_in_league_over_twelve_closings_hold_nothing_finer_than_a_quarter(victim: Car, name: str) -> None:
    known = [100, 200, 900_000, 950_000]
    cars, others = league(4, FIRST), [per_hour(pence) for pence in known]
    months = [add_months(FEBRUARY, back) for back in range(-11, 1)]
    hours = [80 + 5 * place for place in range(12)]
    told = []
    for month, taught, hundred_hours in zip(months, hours, YEARS[name], strict=True):
        pence = hundred_hours * taught // HOURS
        log_month(victim, month, pence, hours=taught)
        for car, cost in zip(cars, known, strict=True):
            log_month(car, month, cost)
        with on(add_months(month, 1).replace(day=10), 5):
            answer = closed(month)
        told.append((taught, alike(others, answer)))
        assert told[-1][1].width >= STEP
        assert told[-1][1].low <= Fraction(pence, taught) < told[-1][1].high
    with on(MARCH.replace(day=10), 6):
        year = closed(FEBRUARY, "year")
    from_months = of_the_year(told)
    assert from_months.width >= STEP
    if year["suppressed"]:
        assert name != "in the middle of its steps"
        assert year["contributors"] == 5
        return
    held = together(from_months, alike(others, year))
    assert held.width >= QUARTER
    # Nor does the year, with eleven months, tell the twelfth any finer.
    total = sum(hours)
    for place, (taught, bounds) in enumerate(told):
        rest = [of for index, of in enumerate(told) if index != place]
        low = (held.low * total - sum(of * each.high for of, each in rest)) / taught
        high = (held.high * total - sum(of * each.low for of, each in rest)) / taught
        assert min(high, bounds.high) - max(low, bounds.low) >= QUARTER


def test_entries_corrected_since_do_not_switch_the_guard_of_the_year_off(victim: Car) -> None:
    known = [100, 200, 900_000, 950_000]
    cars = league(4, FIRST)
    months = [add_months(FEBRUARY, back) for back in range(-11, 1)]
    for month, pence in zip(months, [70_900] * 11 + [72_900], strict=True):
        log_month(victim, month, pence)
        for car, cost in zip(cars, known, strict=True):
            log_month(car, month, cost)
        if month < FEBRUARY:
            with on(add_months(month, 1).replace(day=10), 5):
                closed(month)
    # The league makes its own past months say that the victim was never the one in the middle.
    earlier = CostEntry.objects.filter(paid_on__lt=FEBRUARY, car__in=cars)
    for amount in ("1.50", "709.00"):
        earlier.update(amount=amount)
        with on(MARCH.replace(day=10), 5):
            assert closed(FEBRUARY, "year")["suppressed"]
        GroupFigure.objects.filter(month=FEBRUARY).delete()


@pytest.mark.parametrize("is_kept", [True, False])
def test_the_other_in_the_middle_corrected_since_does_not_hide_what_the_months_told(victim: Car, is_kept: bool) -> None:
    """Of six, five in league move the edge of each month's step to a penny below the victim, the year's to one above.

    So much the months and the year would tell together: two pence of a lesson hour. It is seen only because what each
    month told when it was closed is kept.
    """
    cars = league(5, FIRST)
    for month in (add_months(FEBRUARY, back) for back in range(-13, 1)):
        for car, pence in zip([victim, *cars], [70_000, 68_100, 100, 200, 900_000, 950_000], strict=True):
            log_month(car, month, pence)
        if month < FEBRUARY:
            with on(add_months(month, 1).replace(day=10), 5):
                assert pence_of(closed(month)["median_cost_per_lesson_hour"]) == 700
    # As corrected, the months seem to have told little; and the year comes to (700 + 719) / 2 = 709.5, so that of a
    # member with two pence an hour more it would be told as 720.
    earlier = CostEntry.objects.filter(car=cars[0], paid_on__lt=FEBRUARY)
    earlier.update(amount=Decimal("722.45"))
    if not is_kept:
        ToldOfContributor.objects.all().delete()
    with on(MARCH.replace(day=10), 5):
        assert closed(FEBRUARY, "year")["suppressed"] is is_kept


def test_the_running_costs_that_offers_start_from_are_no_finer_than_their_own_rounding(
    victim: Car, client_of: Callable[[Member], Client]
) -> None:
    known = [10_000, 20_000, 900_000, 950_000]
    for car, pence in zip(league(4, FIRST), known, strict=True):
        log_month(car, FEBRUARY, pence)
    log_month(victim, FEBRUARY, SECRET)
    with on(MARCH.replace(day=10), 5):
        closed(FEBRUARY, "year")
        reader = client_of(MemberFactory.create(name="Somebody without a car"))
        reader.post(reverse("costing:comparison-start"))
        add = reverse("costing:offer-add", args=[Comparison.objects.get().pk])
        reader.post(add, {"kind": "owned", "name": "A car", "price": "9000", "burns": "petrol", "proposed_for": ""})
        median = Offer.objects.get().terms["running"]["repairs_per_year"]
    # In service for the whole year, all that was spent on repairs: £704.30, told as £700.
    candidates = [Fraction(pence, 100) for pence in range(1, 200_000)]
    looked_alike = [each for each in candidates if (each / 50 + Fraction(1, 2)).__floor__() * 50 == Fraction(median)]
    assert Fraction(SECRET, 100) in looked_alike
    assert looked_alike[-1] - looked_alike[0] >= Fraction("49.99")
    assert pence_of(median) % 5_000 == 0
