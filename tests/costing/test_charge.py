"""The page on what to charge: what an hour leaves, break-even, and the least price that will do."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.test import Client

from costing.core.records import Period
from costing.models import ChargePlan, CostEntry
from costing.planning.core.charging import CarCost
from costing.planning.pictures.charging import ChargePicture
from costing.planning.report import OwnCost, own_cost
from costing.queries.charging import lesson_hour_price
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import save, shown, teach_february, text_of
from tests.factories import ChargePlanFactory, CostEntryFactory, TakingsFactory, TeachingRecordFactory

TODAY = date(2026, 3, 16)
ADDRESS = "/charge/"
#: Typed by hand: £70 a week, 20p a mile, 15 miles an hour.
BY_HAND = {"car_a_week": "70", "car_pence_a_mile": "20", "miles_an_hour": "15"}

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
Ask = Callable[..., str]


@pytest.fixture
def ask(everyone: dict[str, Client]) -> Ask:
    """Send the plan, all that is asked about being right, and return the page that follows."""

    def send(**typed: str) -> str:
        response = save(everyone["keeper"], ADDRESS, typed, follow=True)
        assert response.redirect_chain == [(ADDRESS, 303)]
        return text_of(response)

    return send


def test_the_plan_is_saved_with_its_history(ask: Ask, keeper: Member) -> None:
    page = ask(lesson_hour_price="38", wanted="600", miles_between="12")
    assert "Saved: this is what follows." in page
    plan = ChargePlan.objects.get()
    assert (plan.member, plan.lesson_hour_price, plan.wanted, plan.miles_between) == (keeper, 38, 600, 12)
    assert plan.hours_a_week is None
    ask(lesson_hour_price="39.50", wanted="600", miles_between="12")
    assert list(ChargePlan.objects.get().history.values_list("lesson_hour_price", "history_change_reason")) == [
        (Decimal("39.50"), "Changed"),
        (Decimal(38), "Saved"),
    ]
    ask(lesson_hour_price="39.50", wanted="600", miles_between="12")
    assert ChargePlan.objects.get().history.count() == 2


def test_others_ask_for_the_price_that_was_typed(keeper: Member, colleague: Member) -> None:
    assert lesson_hour_price(keeper) is None
    ChargePlanFactory.create(member=keeper, lesson_hour_price="38.50")
    ChargePlanFactory.create(member=colleague, lesson_hour_price=None)
    assert lesson_hour_price(keeper) == 3_850
    assert lesson_hour_price(colleague) is None


def test_while_the_book_knows_nothing_it_says_what_is_missing(everyone: dict[str, Client], car: Car) -> None:
    page = shown(everyone["keeper"], ADDRESS)
    assert "The book does not yet know what a lesson costs you" in page
    assert "It lacks what the car costs a week, what a mile costs and how many miles a lesson hour takes." in page
    assert "What the last month lacks" in page


def test_whoever_has_no_car_may_type_it(everyone: dict[str, Client]) -> None:
    assert "What the last month lacks You had no car in service then" in shown(everyone["coordinator"], ADDRESS)
    everyone["coordinator"].post(ADDRESS, BY_HAND | {"lesson_hour_price": "38"})
    assert "It takes 2 hours a week" in shown(everyone["coordinator"], ADDRESS)


def test_what_is_typed_in_part_still_lacks_the_rest(ask: Ask) -> None:
    page = ask(car_a_week="70", car_pence_a_mile="20", lesson_hour_price="38")
    assert "It lacks how many miles a lesson hour takes." in page


def test_what_is_typed_by_hand_is_answered_in_full(ask: Ask) -> None:
    # £38 less £3 for 15 miles is £35 an hour. £70 a week of 365/7 is £3,650 a year, over 46 weeks £79.35.
    page = ask(**BY_HAND, lesson_hour_price="38", hours_a_week="20", weeks_a_year="46", wanted="500")
    # £35 less 3,650 / 920 hours; 20 hours less 3650 / 35 / 46 of them; in all 28,550 over 365/7 weeks.
    assert "£38.00 an hour leaves £31.03 after the car, £547.53 a week over the whole year" in page
    # 28,550 over 46 weeks.
    assert "That is £620.65 for each of the 46 weeks with lessons, spread over all of the year." in page
    assert "It takes 3 hours in a week with lessons to pay for the car." in page
    assert "3 hours in a week with lessons pay for the car" in page
    assert "You teach 20 hours. You could lose 17.7 hours of them, 88%, before you pay to work." in page
    # (3,650 + 500 * 365/7) / 920 + 3 = 35.3059..; (3,650 + 26,071.43) / 35 / 46 = 18.46 hours.
    assert (
        "For £500.00 a week over the whole year you need £35.31 an hour at 20 hours in a week with lessons, "
        "or 19 hours in a week with lessons at £38.00."
    ) in page
    assert "An hour cancelled and not filled costs you £35.00, or £38.00 if its miles are driven all the same." in page
    # As all sums a week, of every week of the year: £2 for 20 lessons in each of 46 weeks, over 365/7.
    a_week = "£35.29 a week over the whole year, before the time they take."
    assert f"Ten more miles between lessons cost £2.00 a lesson and {a_week}" in page
    assert "What each hour adds its miles, and the line above £3.00" in page
    assert "Break-even fixed cost by contribution 2.27 hours a week" in page
    assert "as you typed it" in page


def test_other_costs_count_once_they_are_typed(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="38", hours_a_week="20", other_costs="35")
    assert "£38.00 an hour leaves £29.75 after the car and other costs, £595 a week" in page
    assert "Other costs, a week as you typed it £35.00" in page
    assert "every week of the year" in page


def test_without_a_price_it_says_what_to_charge_for_what_is_wanted(ask: Ask) -> None:
    page = ask(**BY_HAND, hours_a_week="20", wanted="500")
    # £70 and £500 over 20 hours is £28.50, and £3 for the miles.
    assert "Charge £31.50 an hour, and £500.00 a week is left" in page
    assert "Charge more than that" not in page


def test_without_a_price_or_a_wish_it_says_what_an_hour_costs(ask: Ask) -> None:
    page = ask(**BY_HAND, hours_a_week="20")
    assert "A lesson hour costs you £6.50" in page
    assert "charge more than that" not in page
    assert "Type a price, or the hours you teach" in ask(**BY_HAND)


def test_more_hours_than_a_week_has_are_no_way(ask: Ask) -> None:
    # £3.10 less £3 for the miles is 10p an hour: £70 a week would take 700 hours.
    page = ask(**BY_HAND, lesson_hour_price="3.10", hours_a_week="20", wanted="500")
    assert "At this price it takes 700 hours a week to pay for the car: no week has so many." in page
    assert "For £500.00 a week you need £31.50 an hour at 20 hours a week." in page


def test_an_hour_that_costs_more_than_it_brings_in_is_no_loss_when_cancelled(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="2", hours_a_week="20")
    assert "An hour cancelled and not filled costs you £2.00 if its miles are driven all the same." in page
    assert "costs you −" not in page


def test_without_hours_a_price_still_says_what_an_hour_brings_in(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="38", wanted="500")
    assert "£38.00 an hour brings in £35.00 over what the hour costs" in page
    assert "For £500.00 a week you need 17 hours a week at £38.00." in page
    assert "Ten more miles between lessons cost £2.00 a lesson, before the time they take." in page


def test_without_hours_no_sum_a_week_is_told(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="38", hours_a_week="0")
    assert "Ten more miles between lessons cost £2.00 a lesson, before the time they take." in page


def test_a_price_that_is_too_low_is_called_so(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="5", hours_a_week="20")
    assert "£5.00 an hour is £1.50 less than an hour costs you" in page
    assert "You teach 20 hours a week: 15 hours too few for that." in page
    page = ask(**BY_HAND, lesson_hour_price="3", hours_a_week="20")
    assert "At this price an hour brings in no more than its miles cost: no number of hours pays for the car." in page
    assert "No number of hours pays for the car" in page


def test_the_hours_of_the_book_are_those_of_the_weeks_that_are_taught(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    teach_february(car)
    # 9 hours in each of 365/7 weeks are 469.29 of the year, 10.2 in each of 46: typed, they say what empty hours say.
    everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "38", "weeks_a_year": "46"})
    page = shown(everyone["keeper"], ADDRESS)
    assert "10.2 in the book, over 46 weeks" in page
    assert "Lesson hours a week from February 2026, 46 weeks of the year 10.2" in page
    # Also while something of it is refused or asked: by the weeks that are typed now.
    page = text_of(everyone["keeper"].post(ADDRESS, {"hours_a_week": "200", "weeks_a_year": "40"}))
    assert "11.7 in the book, over 40 weeks" in page
    page = text_of(everyone["keeper"].post(ADDRESS, {"hours_a_week": "46", "weeks_a_year": "40"}))
    assert "46 hours taught in a week? In the book it is 11.7." in page
    page = text_of(everyone["keeper"].post(ADDRESS, {"weeks_a_year": "99"}))
    assert "10.2 in the book, over 46 weeks" in page


def test_to_charge_nothing_is_asked_about_and_loses_nothing_when_cancelled(ask: Ask) -> None:
    page = ask(**BY_HAND, lesson_hour_price="0", hours_a_week="20")
    assert "£0.00 an hour is £6.50 less than an hour costs you" in page
    assert "cancelled" not in page
    assert "costs you −" not in page


def test_a_car_that_costs_nothing_a_week_has_nothing_to_be_paid_first(ask: Ask) -> None:
    page = ask(car_a_week="0", car_pence_a_mile="20", miles_an_hour="15", lesson_hour_price="38", hours_a_week="20")
    assert "There is no weekly cost to pay for first." in page
    assert "Each hour brings in more than it costs" in page
    assert "It takes 0 hours" not in page


def test_lessons_are_counted_beside_the_hours_where_they_are_other_than_so_many() -> None:
    plan = ChargePlan(**{name: Decimal(typed) for name, typed in BY_HAND.items()} | {"lesson_hour_price": Decimal(33)})
    # 70 / 30 hours are 3 in whole ones, and 2 lessons of 75 minutes; of 90, too; of 45 they are 4.
    for minutes, words in (
        (75, ", or 2 lessons as long as yours,"),
        (45, ", or 4 lessons as long as yours,"),
        (55, ""),
    ):
        own = OwnCost(None, (), minutes, 1, 7, (), is_estimate=False)
        assert f"It takes 3 hours a week{words} to pay for the car." in ChargePicture(plan, own).sentences()


def test_other_miles_may_be_asked_about_or_none(ask: Ask) -> None:
    assert "One more mile between lessons costs £0.20 a lesson" in ask(**BY_HAND, miles_between="1")
    assert "more miles between lessons cost" not in ask(**BY_HAND, miles_between="0")


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"lesson_hour_price": "-1"}, "less than"),
        ({"lesson_hour_price": "1e9"}, "cannot be read"),
        ({"hours_a_week": "169"}, "more than 168"),
        ({"weeks_a_year": "53"}, "more than 52"),
        ({"weeks_a_year": "0"}, "less than 1"),
        ({"miles_between": "1.5"}, "not a whole number"),
        ({"car_pence_a_mile": "500"}, "more than 200"),
    ],
)
def test_what_cannot_be_is_refused(everyone: dict[str, Client], typed: dict[str, str], words: str) -> None:
    response = everyone["keeper"].post(ADDRESS, typed)
    assert response.status_code == 200
    assert words in text_of(response)
    assert not ChargePlan.objects.exists()


def test_an_average_lesson_is_exact() -> None:
    own = OwnCost(None, (), 155, 2, 28, (), is_estimate=False)
    assert own.minutes_a_lesson == Fraction(155, 2)
    # 12.5 hours are 9.677 lessons of 77.5 minutes, at 10p a mile and 25 miles; by 78 minutes it would be £24.04.
    plan = ChargePlan(**{name: Decimal(typed) for name, typed in BY_HAND.items()} | {"hours_a_week": Decimal("12.5")})
    plan.car_pence_a_mile, plan.miles_between = Decimal(10), 25
    assert "£2.50 a lesson and £24.19 a week" in " ".join(ChargePicture(plan, own).sentences())


def test_lessons_of_about_an_hour_are_not_counted_beside_the_hours() -> None:
    plan = ChargePlan(**{name: Decimal(typed) for name, typed in BY_HAND.items()} | {"lesson_hour_price": Decimal(40)})
    about = OwnCost(None, (), 181, 3, 28, (), is_estimate=False)
    assert "as long as yours" not in " ".join(ChargePicture(plan, about).sentences())


def test_the_book_s_own_months_are_split_by_what_drives_them(
    everyone: dict[str, Client], car: Car, keeper: Member
) -> None:
    # February: 600 miles, 36 hours in 24 lessons, £60 of fuel; with £28 of insurance and £9 of car parks.
    teach_february(car)
    CostEntryFactory.create(
        car=car, category="insurance", amount=28, paid_on="2026-02-01", covers_from="2026-02-01", covers_to="2026-02-28"
    )
    CostEntryFactory.create(car=car, category="parking_tolls", amount=9, paid_on="2026-02-10")
    own = own_cost(keeper, TODAY)
    assert own.of == "February 2026"
    assert own.cost == CarCost(Fraction(700), Fraction(10), Fraction(25), Fraction(600, 36))
    assert (own.hours_a_week, own.minutes_a_lesson) == (9, 90)
    everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "38"})
    page = shown(everyone["keeper"], ADDRESS)
    # 166 2/3 + 25 pence an hour and £7 a week over 9 hours.
    assert "£38.00 an hour leaves £35.31 after the car" in page
    assert "From February 2026 in your own records" in page
    assert "It takes 1 hour a week to pay for the car." in page
    assert "9 in the book, over 52 weeks" in page


def test_it_names_usual_costs_that_were_never_logged(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    page = shown(everyone["keeper"], ADDRESS)
    # It is held by contract hire, whose price often pays for the tax.
    said = "No insurance was logged in that month: without it the answer is too good."
    assert (
        f"From February 2026 in your own records. What comes once a year may not be in them. Before tax. {said}" in page
    )
    # What is typed for each week stands in place of it.
    everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "38", "car_a_week": "70"})
    page = shown(everyone["keeper"], ADDRESS)
    assert "£38.00 an hour leaves" in page
    assert "the answer is too good" not in page
    everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "38"})
    assert said in shown(everyone["keeper"], ADDRESS)
    CostEntryFactory.create(car=car, category="insurance", amount=0, paid_on="2026-02-01")
    assert said not in shown(everyone["keeper"], ADDRESS)


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (
            ("vehicle_tax", "servicing", "tyres"),
            "No vehicle tax, no servicing and no tyres were logged in these months: ",
        ),
        (("tyres",), "No tyres were logged in these months: without these the answer is too good."),
        (("servicing",), "No servicing was logged in these months: without it the answer is too good."),
        ((), ""),
    ],
)
def test_they_are_named_in_one_sentence(names: tuple[str, ...], words: str) -> None:
    months = (Period(date(2026, 1, 1), date(2026, 1, 31)), Period(date(2026, 2, 1), date(2026, 2, 28)))
    own = OwnCost(None, months, 60, 1, 59, (), is_estimate=False, unlogged=names)
    said = ChargePicture(ChargePlan(), own).unlogged
    assert said.startswith(words)
    assert bool(said) is bool(words)
    assert "tyres" not in ChargePicture(ChargePlan(car_pence_a_mile=Decimal(9)), own).unlogged


def test_what_is_typed_goes_before_the_book(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    teach_february(car)
    save(everyone["keeper"], ADDRESS, {"lesson_hour_price": "38", "car_a_week": "70", "hours_a_week": "20"})
    page = shown(everyone["keeper"], ADDRESS)
    assert "The car, a week, taught or not as you typed it £70.00" in page
    assert "A business mile from February 2026 10.0p" in page


def test_nobody_sees_anybody_else_s_plan(everyone: dict[str, Client], keeper: Member, colleague: Member) -> None:
    ChargePlanFactory.create(member=keeper, lesson_hour_price="37.77")
    assert "37.77" in everyone["keeper"].get(ADDRESS).content.decode()
    for who in ("colleague", "coordinator"):
        assert "37.77" not in everyone[who].get(ADDRESS).content.decode()
    everyone["colleague"].post(ADDRESS, {"lesson_hour_price": "36"})
    assert ChargePlan.objects.get(member=keeper).lesson_hour_price == Decimal("37.77")


def test_looking_writes_nothing(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    before = CostEntry.objects.count()
    shown(everyone["keeper"], ADDRESS)
    assert not ChargePlan.objects.exists()
    assert CostEntry.objects.count() == before


# --- What can hardly be right -----------------------------------------------------------------------------


def test_a_nought_too_many_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    response = everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "410", "wanted": "6000"})
    question = response.context["form"].questions["lesson_hour_price"]
    assert question.why == "£410 an hour? Hardly anybody charges that."
    assert question.meanings[0].words == "£41"
    assert "£6,000 a week? That is far from what is usual." in text_of(response)
    assert not ChargePlan.objects.exists()
    sent = {"lesson_hour_price": "410", "meant": question.meanings[0].value}
    assert everyone["keeper"].post(ADDRESS, sent).status_code == 303
    assert ChargePlan.objects.get().lesson_hour_price == 41


def test_what_was_found_right_is_not_asked_again(everyone: dict[str, Client], keeper: Member) -> None:
    ChargePlanFactory.create(member=keeper, lesson_hour_price="38.00")
    response = everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "410"})
    page = text_of(response)
    assert "£410 an hour? You said £38 before." in page
    assert "Not saved yet The book asks about what you typed: You charge: £410 an hour? You said £38 before." in page
    assert save(everyone["keeper"], ADDRESS, {"lesson_hour_price": "410"}).status_code == 303
    assert everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "410", "wanted": "600"}).status_code == 303


def test_a_price_is_held_against_what_was_taken_an_hour(everyone: dict[str, Client], car: Car, keeper: Member) -> None:
    for number in range(1, 7):
        monday = date(2026, 3, 9) - timedelta(days=7 * number)
        TakingsFactory.create(member=keeper, from_on=monday, amount=720)
        TeachingRecordFactory.create(car=car, from_on=monday, to_on=monday, minutes=1_200)
    response = everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "380"})
    assert "£380 an hour? You usually take about £36 an hour." in text_of(response)
    assert everyone["keeper"].post(ADDRESS, {"lesson_hour_price": "38"}).status_code == 303


# --- What can hardly be right --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        (BY_HAND | {"car_pence_a_mile": "0.13"}, "0.13 pence a mile? That is far from what is usual."),
        ({"hours_a_week": "46", "weeks_a_year": "30"}, "30 weeks taught in a year?"),
    ],
)
def test_what_can_hardly_be_right_is_asked_about(everyone: dict[str, Client], typed: dict, asked: str) -> None:
    page = text_of(everyone["keeper"].post(ADDRESS, typed))
    assert asked in page
    assert not ChargePlan.objects.exists()


def test_the_book_says_what_hours_and_pence_are_likely(everyone: dict[str, Client], car: Car) -> None:
    teach_february(car)
    # 36 hours in four weeks, and 10p of fuel a mile.
    page = text_of(everyone["keeper"].post(ADDRESS, {"hours_a_week": "30", "car_pence_a_mile": "0.1"}))
    assert "30 hours taught in a week? In the book it is 9." in page
    assert "0.1 pence a mile? In the book it is 10." in page
    assert "10 pence" in page


def test_a_refusal_shows_nothing_that_follows_from_the_plan_before(everyone: dict[str, Client], ask: Ask) -> None:
    ask(**BY_HAND, lesson_hour_price="38", hours_a_week="20")
    page = text_of(everyone["keeper"].post(ADDRESS, BY_HAND | {"lesson_hour_price": "38", "hours_a_week": "300"}))
    assert page.count("Not saved yet") == 1
    assert "an hour leaves" not in page
    assert "It takes" not in page
    assert "The figures behind it" not in page


def test_while_the_book_asks_nothing_of_the_plan_before_is_shown(everyone: dict[str, Client], ask: Ask) -> None:
    ask(**BY_HAND, lesson_hour_price="38", hours_a_week="20")
    before, asked = (
        everyone["keeper"].get(ADDRESS).content.decode(),
        everyone["keeper"].post(ADDRESS, BY_HAND | {"lesson_hour_price": "410", "hours_a_week": "20"}).content.decode(),
    )
    for part in ('<h2 id="even">', "The figures behind it"):
        assert part in before
        assert part not in asked


def test_what_could_be_lost_is_never_said_to_be_more_than_there_is(ask: Ask) -> None:
    # £35 an hour pays for £105.12 a week in 3.0033 hours of every week, which leaves 24.9967 of 28, or 89.27%.
    page = ask(**BY_HAND | {"car_a_week": "105.12"}, lesson_hour_price="38", hours_a_week="28", weeks_a_year="52")
    assert "You teach 28 hours. You could lose 24.9 hours of them, 89%, before you pay to work." in page
