"""What the schedule makes of what repeats: each due day once, as its member would have logged it."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from config import budgets
from config.celery import app
from costing.actions import correct_entry, make_all_due, make_due, void_entry
from costing.models import CostEntry, Repeat, SettledDue
from costing.tasks import make_what_repeats
from fleet.models import Car, DueItem
from instructors.models import Member
from tests.factories import CarFactory, CostEntryFactory, RepeatFactory
from tests.fleet.keepers import hand_on

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]

JANUARY, FEBRUARY, MARCH = date(2026, 1, 31), date(2026, 2, 28), date(2026, 3, 31)


def paid_on(**of: Any) -> list[date]:
    return list(CostEntry.objects.standing().filter(**of).order_by("paid_on").values_list("paid_on", flat=True))


def make(repeat: Repeat, on: date = date(2026, 3, 16)) -> int:
    made = make_due(repeat.pk, on)
    repeat.refresh_from_db()
    return made


def test_the_months_missed_are_caught_up_once(car: Car) -> None:
    repeat = RepeatFactory.create(car=car, supplier="Kerbside Rescue", note="Policy 7")
    assert [make_all_due(date(2026, 3, 16)) for _ in range(3)] == [2, 0, 0]
    assert paid_on() == [JANUARY, FEBRUARY]
    cost = CostEntry.objects.latest("paid_on")
    assert (cost.repeat, cost.member, cost.car, cost.amount) == (repeat, car.keeper, car, Decimal("12.40"))
    assert (cost.category, cost.supplier, cost.note) == ("breakdown_cover", "Kerbside Rescue", "Policy 7")
    assert cost.covers_from is None
    assert make_all_due(MARCH) == 1


def test_the_history_says_what_made_an_entry(car: Car) -> None:
    make(RepeatFactory.create(car=car))
    history = CostEntry.objects.latest("paid_on").history.get()
    assert history.history_change_reason == "Made from Breakdown cover, every month from 31 January 2026"
    assert history.history_user is None


def test_the_task_that_makes_them_is_on_the_schedule(car: Car) -> None:
    scheduled = [entry for entry in app.conf.beat_schedule.values() if "repeats" in entry["task"]]
    assert [entry["task"] for entry in scheduled] == ["costing.tasks.make_what_repeats"]
    assert set(scheduled[0]["schedule"].hour) == set(range(4, 24))
    RepeatFactory.create(car=car)
    make_what_repeats()
    assert paid_on() == [JANUARY, FEBRUARY]


def test_each_covers_the_days_up_to_the_next_and_moves_what_falls_due(car: Car) -> None:
    make(RepeatFactory.create(car=car, covers_its_days=True))
    covers = CostEntry.objects.order_by("paid_on").values_list("covers_from", "covers_to")
    assert list(covers) == [(JANUARY, date(2026, 2, 27)), (FEBRUARY, date(2026, 3, 30))]
    assert DueItem.objects.get(car=car, kind="breakdown_cover").due_on == date(2026, 3, 30)


def test_a_voided_entry_is_not_made_again_nor_a_corrected_one(car: Car, keeper: Member) -> None:
    repeat = RepeatFactory.create(car=car)
    make(repeat)
    first, second = CostEntry.objects.order_by("paid_on")
    void_entry(by=keeper, entry=first, reason="not paid")
    correct_entry(by=keeper, entry=second, changes={"paid_on": date(2026, 3, 2), "amount": Decimal("13")})
    assert make(repeat) == 0
    assert paid_on() == [date(2026, 3, 2)]
    # Even if the day up to which all is made was lost, as a crash between the two would lose it.
    Repeat.objects.update(made_until=None)
    assert make(repeat) == 0
    assert (paid_on(), repeat.made_until) == ([date(2026, 3, 2)], FEBRUARY)


def test_it_ends_with_its_last_payment_fees_first_and_the_final_payment_last(car: Car) -> None:
    repeat = RepeatFactory.create(
        car=car, category="finance", amount=189, payments=3, fees=150, final_payment=5_400, in_arrears=True
    )
    assert make(repeat, date(2027, 1, 1)) == 3
    made = CostEntry.objects.order_by("paid_on").values_list("paid_on", "amount")
    assert list(made) == [(FEBRUARY, 339), (MARCH, 189), (date(2026, 4, 30), 5_589)]


def test_nothing_is_made_after_the_day_it_was_stopped_on(car: Car) -> None:
    repeat = RepeatFactory.create(car=car, stopped_on=FEBRUARY)
    assert (make(repeat, MARCH), repeat.made_until) == (2, FEBRUARY)


def test_a_new_sum_counts_from_its_day(car: Car) -> None:
    repeat = RepeatFactory.create(car=car, next_amount=15, next_amount_from=FEBRUARY)
    make(repeat)
    assert list(CostEntry.objects.order_by("paid_on").values_list("amount", flat=True)) == [Decimal("12.40"), 15]
    assert (repeat.amount, repeat.next_amount, repeat.next_amount_from) == (15, None, None)


# --- The car ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("handed_over_on", "made"), [(FEBRUARY, [JANUARY, FEBRUARY]), (date(2026, 2, 27), [JANUARY])])
def test_a_payment_due_on_the_day_of_the_handover_is_still_the_former_keepers(
    car: Car, colleague: Member, coordinator: Member, handed_over_on: date, made: list[date]
) -> None:
    repeat = RepeatFactory.create(car=car)
    hand_on(car, colleague, handed_over_on, coordinator)
    make(repeat)
    assert paid_on() == made


def test_a_car_out_of_service_needs_no_more(car: Car) -> None:
    Car.objects.update(in_service_to=date(2026, 2, 10))
    make(RepeatFactory.create(car=car))
    assert paid_on() == [JANUARY]


def test_who_has_left_is_entered_nothing_more(car: Car) -> None:
    Member.objects.update(left_on=date(2026, 2, 10))
    make(RepeatFactory.create(car=car))
    assert paid_on() == [JANUARY]


def test_a_car_that_comes_back_goes_on_without_the_days_of_the_other(
    car: Car, colleague: Member, coordinator: Member
) -> None:
    repeat = RepeatFactory.create(car=car, starts_on=date(2026, 2, 2), interval="week")
    hand_on(car, colleague, date(2026, 2, 10), coordinator)
    hand_on(car, repeat.member, date(2026, 3, 1), coordinator)
    make(repeat, date(2026, 3, 9))
    assert paid_on() == [date(2026, 2, 2), date(2026, 2, 9), date(2026, 3, 2), date(2026, 3, 9)]


# --- One logged by hand ----------------------------------------------------------------------------------


def test_one_logged_by_hand_is_taken_as_that_months(car: Car) -> None:
    by_hand = CostEntryFactory.create(
        car=car, category="breakdown_cover", amount=Decimal("12.40"), paid_on=date(2026, 3, 3)
    )
    repeat = RepeatFactory.create(car=car)
    assert (make(repeat), repeat.made_until) == (1, FEBRUARY)
    assert paid_on() == [JANUARY, by_hand.paid_on]
    row = SettledDue.objects.get()
    assert (row.cost, row.repeat, row.due_on, row.amount) == (by_hand, repeat, FEBRUARY, Decimal("12.40"))
    assert row.history.get().history_user is None
    reasons = by_hand.history.values_list("history_change_reason", flat=True)
    assert reasons[0] == "In place of the payment of 28 February 2026"
    assert make(repeat) == 0


def test_it_is_taken_once_even_if_the_day_up_to_which_all_is_made_was_lost(car: Car) -> None:
    same = {"category": "breakdown_cover", "amount": Decimal("12.40")}
    CostEntryFactory.create(car=car, paid_on=date(2026, 3, 3), **same)
    repeat = RepeatFactory.create(car=car)
    make(repeat)
    Repeat.objects.update(made_until=None)
    assert (make(repeat), repeat.made_until, SettledDue.objects.count()) == (0, FEBRUARY, 1)


def test_voided_its_payment_is_due_again_or_taken_as_another_that_was_logged(car: Car) -> None:
    same = {"category": "breakdown_cover", "amount": Decimal("12.40")}
    by_hand = CostEntryFactory.create(car=car, paid_on=date(2026, 3, 3), **same)
    make(RepeatFactory.create(car=car))
    twice = CostEntryFactory.create(car=car, paid_on=date(2026, 3, 2), **same)
    void_entry(by=car.keeper, entry=by_hand, reason="twice")
    assert paid_on() == [JANUARY, twice.paid_on]
    assert SettledDue.objects.get(ended_at=None).cost == twice
    void_entry(by=car.keeper, entry=twice, reason="neither")
    assert paid_on() == [JANUARY, FEBRUARY]
    assert not SettledDue.objects.filter(ended_at=None).exists()


@pytest.mark.parametrize(
    "other",
    [
        {"amount": Decimal("12.41")},
        {"category": "insurance"},
        {"paid_on": date(2026, 3, 6)},
        {"voided_at": "2026-03-04T09:00Z"},
    ],
)
def test_one_that_differs_is_not(car: Car, other: dict[str, Any]) -> None:
    same = {"category": "breakdown_cover", "amount": Decimal("12.40"), "paid_on": date(2026, 3, 3)}
    CostEntryFactory.create(car=car, **same | other)
    assert make(RepeatFactory.create(car=car)) == 2


def test_one_of_another_member_or_car_is_not(car: Car, colleague: Member) -> None:
    same = {"category": "breakdown_cover", "amount": Decimal("12.40"), "paid_on": FEBRUARY}
    CostEntryFactory.create(car=CarFactory.create(keeper=car.keeper), **same)
    CostEntryFactory.create(car=car, member=colleague, **same)
    assert make(RepeatFactory.create(car=car)) == 2


def test_what_another_repeat_made_was_not_logged_by_hand(car: Car) -> None:
    first, second = RepeatFactory.create_batch(2, car=car)
    assert [make(first), make(second)] == [2, 2]


# --- One that fails --------------------------------------------------------------------------------------


def test_one_that_cannot_be_made_does_not_keep_the_others_waiting(
    car: Car, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    bad, good = RepeatFactory.create_batch(2, car=car)
    from costing.actions import repeats

    real = repeats.make_due

    def failing(pk: int, on: date, most: int) -> int:
        if pk == bad.pk:
            raise RuntimeError("broken")
        return real(pk, on, most)

    monkeypatch.setattr(repeats, "make_due", failing)
    assert make_all_due(MARCH) == 3
    assert paid_on(repeat=good) == [JANUARY, FEBRUARY, MARCH]
    assert f"repeat {bad.pk} could not be made" in caplog.text


def test_what_is_too_much_for_one_run_is_made_by_the_next(car: Car, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(budgets, "REPEATS_MADE_AT_ONCE", 5)
    first, second = RepeatFactory.create_batch(2, car=car, starts_on=date(2026, 3, 1), interval="week")
    assert [make_all_due(MARCH) for _ in range(4)] == [5, 5, 0, 0]
    days = [date(2026, 3, day) for day in (1, 8, 15, 22, 29)]
    assert paid_on(repeat=first) == paid_on(repeat=second) == days
    assert make_all_due(date(2026, 12, 31)) == 5
