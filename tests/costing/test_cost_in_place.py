"""A cost logged by hand in another sum, in place of a payment that a repeat makes by itself."""

from datetime import UTC, date, datetime
from decimal import Decimal
from importlib import import_module
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.apps import apps
from django.test import Client
from django.urls import reverse
from django.utils.html import escape

from config.history import save_as
from costing.actions import change_repeat, correct_entry, log_cost, make_due, undo_entry, void_entry
from costing.core.repeats import made_ref
from costing.kit import plausible_kit
from costing.models import CostEntry, Repeat, SettledDue
from costing.planning.report import pot_report
from costing.queries import last_logged
from costing.queries.repeats import awaited_near
from fleet.actions import hand_over
from fleet.models import Car
from instructors.models import Member
from tests.conftest import TODAY
from tests.costing.pages import cost_data, text_of
from tests.factories import CostEntryFactory, DueItemFactory, RepeatFactory

pytestmark = pytest.mark.usefixtures("today")

COST_LOG = reverse("costing:cost-log")
DUE, BEFORE, NEXT = date(2026, 3, 19), date(2026, 2, 19), date(2026, 4, 19)
QUESTION = "Is this the payment of 19 March 2026 that the book enters by itself, £62 for cleaning?"


@pytest.fixture
def repeat(car: Car) -> Repeat:
    """£62 each month, due three days from today."""
    first = date(2025, 3, 19)
    return RepeatFactory(car=car, category="cleaning", amount="62.00", starts_on=first, made_until=BEFORE)


def sent(car: Car, **changes: Any) -> dict[str, Any]:
    return cost_data(car, category="cleaning", amount="64.10") | changes


def in_place(car: Car, repeat: Repeat, on: date = TODAY, due: date = DUE, amount: str = "64.10") -> CostEntry:
    cost, _ = log_cost(
        by=car.keeper,
        car=car,
        ref=str(uuid4()),
        paid_on=on,
        category="cleaning",
        amount=Decimal(amount),
        in_place_of=made_ref(repeat.ref, due),
    )
    return cost


def foreseen(car: Car) -> list[date]:
    return [bill.on for bill in pot_report(car.keeper, TODAY).bills.known if bill.title == "Cleaning"][:1]


def standing(**of: Any) -> list[tuple[date, str]]:
    rows = CostEntry.objects.standing().filter(**of).order_by("paid_on")
    return [(row.paid_on, str(row.amount)) for row in rows]


def answer_of(page: Any, words: str) -> dict[str, str]:
    """The button of that name as a form sends it without a script."""
    question = page.context["form"].questions["category"]
    keys = {one.words: ("meant", one.value) for one in question.meanings} | {question.right: ("is_right", question.key)}
    name, value = keys[words]
    assert f'name="{name}"' in page.content.decode()
    assert escape(value) in page.content.decode()
    return {name: value}


def test_the_form_asks_in_one_question_and_keeps_what_was_typed(
    everyone: dict[str, Client], car: Car, repeat: Repeat
) -> None:
    page = everyone["keeper"].post(COST_LOG, sent(car, note="Inside too"))
    assert page.status_code == 200
    assert QUESTION in text_of(page)
    assert "Yes, in its place" in text_of(page)
    assert "No, another one" in text_of(page)
    assert "Inside too" in text_of(page)
    assert 'value="64.10"' in page.content.decode()
    assert not CostEntry.objects.exists()


def test_in_its_place_the_book_neither_makes_nor_foresees_that_payment(
    everyone: dict[str, Client], car: Car, repeat: Repeat
) -> None:
    assert foreseen(car) == [DUE]
    typed = sent(car)
    page = everyone["keeper"].post(COST_LOG, typed)
    done = everyone["keeper"].post(COST_LOG, typed | answer_of(page, "Yes, in its place"), follow=True)
    assert "It stands for the payment of 19 March 2026, which the book will not enter." in text_of(done)
    assert foreseen(car) == [NEXT]
    assert make_due(repeat.pk, DUE) == 0
    assert standing() == [(TODAY, "64.10")]
    page = everyone["keeper"].get(reverse("costing:repeat", args=[repeat.pk]))
    assert "19 March 2026: taken as the one you logged on 16 March 2026" in text_of(page)
    assert "Next on 19 April 2026" in text_of(page)


def test_another_one_leaves_the_payment_due(everyone: dict[str, Client], car: Car, repeat: Repeat) -> None:
    typed = sent(car)
    page = everyone["keeper"].post(COST_LOG, typed)
    assert everyone["keeper"].post(COST_LOG, typed | answer_of(page, "No, another one")).status_code == 303
    assert foreseen(car) == [DUE]
    assert make_due(repeat.pk, DUE) == 1
    assert standing() == [(TODAY, "64.10"), (DUE, "62.00")]


def test_one_that_the_book_has_made_already_gives_way(everyone: dict[str, Client], car: Car, repeat: Repeat) -> None:
    Repeat.objects.filter(pk=repeat.pk).update(made_until=date(2026, 1, 19), starts_on=date(2026, 1, 15))
    assert make_due(repeat.pk, TODAY) == 2
    typed = sent(car)
    page = everyone["keeper"].post(COST_LOG, typed)
    assert "Is this the payment of 15 March 2026" in text_of(page)
    done = everyone["keeper"].post(COST_LOG, typed | answer_of(page, "Yes, in its place"), follow=True)
    assert "It stands in place of the £62.00 that the book had entered for 15 March 2026." in text_of(done)
    assert standing() == [(date(2026, 2, 15), "62.00"), (TODAY, "64.10")]
    undo_entry(by=car.keeper, entry=CostEntry.objects.get(amount="64.10"))
    assert standing() == [(date(2026, 2, 15), "62.00"), (date(2026, 3, 15), "62.00")]


@pytest.mark.parametrize(
    "changes",
    [
        {"category": "repairs"},
        {"amount": "62.00"},
        {"paid_on": "2026-03-13"},
        {"amount": "-64.10"},
    ],
)
def test_nothing_is_asked_of_what_cannot_be_it(
    everyone: dict[str, Client], car: Car, repeat: Repeat, changes: dict[str, str]
) -> None:
    page = everyone["keeper"].post(COST_LOG, sent(car, **changes))
    assert "by itself" not in text_of(page)


def test_nothing_is_asked_once_it_is_settled_or_stopped(everyone: dict[str, Client], car: Car, repeat: Repeat) -> None:
    assert [one.due.on for one in awaited_near(car.keeper, car, TODAY)] == [DUE]
    Repeat.objects.update(stopped_on=date(2026, 3, 18))
    assert awaited_near(car.keeper, car, TODAY) == []
    Repeat.objects.update(stopped_on=None)
    CostEntryFactory(car=car, category="cleaning", amount="62.00", paid_on=TODAY)
    assert awaited_near(car.keeper, car, TODAY) == []


def test_of_two_repeats_the_one_that_is_nearest_is_asked_about_and_settled(car: Car, repeat: Repeat) -> None:
    other = RepeatFactory(car=car, category="cleaning", amount="9.00", starts_on=DUE)
    in_place(car, repeat)
    assert (make_due(repeat.pk, DUE), make_due(other.pk, DUE)) == (0, 1)


@pytest.mark.parametrize("take_back", [undo_entry, lambda **of: void_entry(reason="wrong", **of)])
def test_taken_back_it_is_due_again(car: Car, repeat: Repeat, take_back: Any) -> None:
    take_back(by=car.keeper, entry=in_place(car, repeat))
    assert foreseen(car) == [DUE]
    assert make_due(repeat.pk, DUE) == 1
    assert standing() == [(DUE, "62.00")]


def test_taken_back_its_day_is_said_to_be_settled_no_more(
    everyone: dict[str, Client], car: Car, repeat: Repeat
) -> None:
    void_entry(by=car.keeper, entry=in_place(car, repeat), reason="wrong")
    address = reverse("costing:repeat", args=[repeat.pk])
    page = text_of(everyone["keeper"].get(address))
    assert "Next on 19 March 2026" in page
    assert "taken as the one you logged" not in page
    in_place(car, repeat)
    page = text_of(everyone["keeper"].get(address))
    assert page.count("19 March 2026: taken as the one you logged on 16 March 2026") == 1


@pytest.mark.parametrize("sums", [["62.00", "62.00"], ["62.00", "70.00"]])
def test_taken_back_after_the_next_was_made_it_is_entered_at_the_sum_of_its_day(
    everyone: dict[str, Client], car: Car, repeat: Repeat, sums: list[str]
) -> None:
    before, first = date(2026, 2, 16), date(2026, 2, 19)
    Repeat.objects.update(made_until=date(2026, 1, 19), next_amount=sums[1], next_amount_from=DUE)
    cost = in_place(car, repeat, on=before, due=first)
    assert make_due(repeat.pk, DUE) == 1
    page = text_of(everyone["keeper"].get(reverse("costing:entry-void", args=["cost", cost.pk])))
    assert "It stands for the payment of 19 February 2026, £62.00: that is due again, and the book enters it" in page
    void_entry(by=car.keeper, entry=cost, reason="wrong")
    assert standing() == [(first, sums[0]), (DUE, sums[1])]
    assert make_due(repeat.pk, DUE) == 0


def test_taken_back_after_its_repeat_was_stopped_before_it_it_stays_away(
    everyone: dict[str, Client], car: Car, repeat: Repeat
) -> None:
    cost = in_place(car, repeat)
    Repeat.objects.update(stopped_on=BEFORE)
    page = text_of(everyone["keeper"].get(reverse("costing:entry-void", args=["cost", cost.pk])))
    assert "The book will not enter its payment again" in page
    void_entry(by=car.keeper, entry=cost, reason="wrong")
    assert make_due(repeat.pk, NEXT) == 0
    assert standing() == []


def test_taken_back_after_a_handover_before_its_day_it_stays_away(
    car: Car, repeat: Repeat, colleague: Member, coordinator: Member
) -> None:
    cost = in_place(car, repeat)
    hand_over(by=coordinator, car=car, keeper=colleague, on=TODAY, odometer=20000)
    with time_machine.travel(datetime(2026, 3, 20, 12, tzinfo=UTC), tick=False):
        undo_entry(by=cost.member, entry=cost)
        assert make_due(repeat.pk, date(2026, 3, 20)) == 0
    assert standing() == []


@pytest.mark.parametrize("changes", [{"category": "repairs"}, {"amount": Decimal("-64.10")}])
def test_corrected_to_what_cannot_be_that_payment_it_stands_for_it_no_more(
    car: Car, repeat: Repeat, changes: dict[str, Any]
) -> None:
    cost = in_place(car, repeat)
    was = {name: getattr(cost, name) for name in changes}
    cost = correct_entry(by=car.keeper, entry=cost, changes=changes)
    assert (cost.repeat, foreseen(car)) == (None, [DUE])
    # Right again, it is one of its own, which the schedule may take.
    correct_entry(by=car.keeper, entry=cost, changes=was | {"amount": Decimal("62.00")})
    assert (make_due(repeat.pk, DUE), foreseen(car)) == (0, [NEXT])
    row = SettledDue.objects.get()
    assert (row.cost, row.due_on, row.ended_at) == (cost, DUE, None)
    assert [one.ended_at is None for one in row.history.order_by("history_id")] == [True, False, True]


def test_corrected_in_its_sum_it_stands_for_it_still(car: Car, repeat: Repeat) -> None:
    cost = correct_entry(by=car.keeper, entry=in_place(car, repeat), changes={"amount": Decimal("66.00")})
    assert (cost.repeat, foreseen(car)) == (repeat, [NEXT])


def test_the_row_says_who_settled_it_when_and_who_gave_it_back(car: Car, repeat: Repeat) -> None:
    void_entry(by=car.keeper, entry=in_place(car, repeat), reason="wrong")
    ended, settled = SettledDue.objects.get().history.order_by("-history_id")
    assert (settled.history_change_reason, settled.history_user) == (
        "In place of the payment of 19 March 2026",
        car.keeper,
    )
    assert (ended.history_change_reason, ended.history_user) == ("Given back", car.keeper)
    assert ended.ended_at is not None


@pytest.mark.parametrize("is_made", [True, False])
def test_of_payments_a_week_apart_the_one_that_was_settled_is_due_again(car: Car, is_made: bool) -> None:
    start, first, second = date(2026, 3, 5), date(2026, 3, 12), DUE
    weekly = RepeatFactory(car=car, category="cleaning", interval="week", starts_on=start, made_until=start)
    if is_made:
        make_due(weekly.pk, first)
    costs = [in_place(car, weekly, due=due) for due in (first, second)]
    undo_entry(by=car.keeper, entry=costs[1])
    assert (make_due(weekly.pk, second), standing()[-1][0]) == (1, second)
    assert len(standing()) == 2


def test_the_first_of_two_in_a_week_taken_back_leaves_the_second_settled(car: Car) -> None:
    start, first = date(2026, 3, 5), date(2026, 3, 12)
    weekly = RepeatFactory(car=car, category="cleaning", interval="week", starts_on=start, made_until=start)
    costs = [in_place(car, weekly, due=due) for due in (first, DUE)]
    undo_entry(by=car.keeper, entry=costs[0])
    assert make_due(weekly.pk, DUE) == 0
    assert standing() == [(first, "12.40"), (TODAY, "64.10")]


def test_taken_back_after_its_day_was_corrected_or_the_sum_changed_it_is_due_again(car: Car, repeat: Repeat) -> None:
    cost = in_place(car, repeat)
    cost = correct_entry(by=car.keeper, entry=cost, changes={"paid_on": date(2026, 3, 6)})
    change_repeat(by=car.keeper, repeat=repeat, amount=Decimal("70.00"), from_on=date(2026, 5, 19))
    undo_entry(by=car.keeper, entry=cost)
    assert make_due(repeat.pk, DUE) == 1
    assert standing() == [(DUE, "62.00")]


def test_taken_back_before_its_day_it_has_the_sum_of_its_day_though_another_counts_from_the_next(
    car: Car, repeat: Repeat
) -> None:
    cost = in_place(car, repeat)
    repeat.refresh_from_db()
    change_repeat(by=car.keeper, repeat=repeat, amount=Decimal("80.00"), from_on=NEXT)
    void_entry(by=car.keeper, entry=cost, reason="Not paid")
    make_due(repeat.pk, NEXT)
    assert standing() == [(DUE, "62.00"), (NEXT, "80.00")]


@pytest.mark.parametrize("corrected", [{"amount": Decimal("-62.00")}, {"amount": Decimal(0)}, {"category": "tyres"}])
def test_what_was_made_and_is_corrected_to_something_else_is_no_payment_to_stand_for(
    car: Car, repeat: Repeat, corrected: dict[str, Any]
) -> None:
    Repeat.objects.update(made_until=date(2026, 1, 19))
    make_due(repeat.pk, BEFORE)
    made = correct_entry(by=car.keeper, entry=CostEntry.objects.get(), changes=corrected)
    assert awaited_near(car.keeper, car, BEFORE) == []
    cost = in_place(car, repeat, on=BEFORE, due=BEFORE)
    made.refresh_from_db()
    assert (cost.repeat, made.voided_at) == (None, None)


def test_a_refund_settles_nothing(car: Car, repeat: Repeat) -> None:
    assert in_place(car, repeat, amount="-64.10").repeat is None


def test_the_first_payment_of_all_is_due_again_too(car: Car) -> None:
    first = RepeatFactory(car=car, category="cleaning", amount="62.00", starts_on=DUE)
    undo_entry(by=car.keeper, entry=in_place(car, first))
    assert make_due(first.pk, DUE) == 1


def test_a_new_sum_comes_with_a_payment_that_was_settled_so(car: Car, repeat: Repeat) -> None:
    Repeat.objects.update(next_amount="70.00", next_amount_from=DUE)
    in_place(car, repeat)
    assert make_due(repeat.pk, NEXT) == 1
    assert standing()[-1] == (NEXT, "70.00")


def test_a_reference_of_anything_else_settles_nothing(car: Car, repeat: Repeat) -> None:
    cost = in_place(car, repeat, on=date(2026, 3, 1))
    assert cost.repeat is None
    assert in_place(car, repeat, due=NEXT).repeat is None
    stranger = RepeatFactory(category="cleaning", starts_on=DUE)
    assert in_place(car, stranger).repeat is None
    assert make_due(repeat.pk, DUE) == 1


def test_it_is_logged_by_its_member_and_not_by_the_book(car: Car, repeat: Repeat) -> None:
    make_due(repeat.pk, DUE)
    assert last_logged([car.keeper.pk]) == {}
    cost = in_place(car, repeat)
    assert last_logged([car.keeper.pk]) == {car.keeper.pk: max(cost.paid_on, cost.created_at.date())}


def test_a_renewal_is_not_priced_by_it_twice(car: Car) -> None:
    """What was paid in place of a part counts as that part: the year is still twelve parts."""
    insured = RepeatFactory(
        car=car, category="insurance", amount="62.00", starts_on=date(2025, 4, 19), payments=12, made_until=BEFORE
    )

    def price() -> list[int]:
        return [bill.pence for bill in pot_report(car.keeper, TODAY).bills.known if bill.on > DUE]

    before = price()
    log_cost(
        by=car.keeper,
        car=car,
        ref=str(uuid4()),
        paid_on=TODAY,
        category="insurance",
        amount=Decimal("64.10"),
        in_place_of=made_ref(insured.ref, DUE),
    )
    assert price() == before


def test_a_renewal_costs_what_was_really_paid_of_its_last_term(car: Car) -> None:
    """A premium that the book would have entered at £620.00 was paid at £641.00, and will be again."""
    paid_on, renewal = date(2026, 3, 14), date(2027, 3, 10)
    yearly = RepeatFactory(
        car=car, category="insurance", amount="620.00", interval="year", starts_on=paid_on, payments=1
    )
    make_due(yearly.pk, TODAY)
    DueItemFactory(car=car, kind="insurance", due_on=renewal)
    fields = {"paid_on": TODAY, "category": "insurance", "amount": Decimal(641)}
    log_cost(by=car.keeper, car=car, ref=str(uuid4()), in_place_of=made_ref(yearly.ref, paid_on), **fields)
    bills = [bill for bill in pot_report(car.keeper, TODAY).bills.known if bill.title == "Insurance"]
    assert [(bill.on, bill.pence) for bill in bills] == [(renewal, 641_00)]


# --- Books from before a row said so --------------------------------------------------------------------------


def as_before(*said: tuple[Repeat, str]) -> None:
    """Leave no row, but what the histories of repeats said."""
    SettledDue.objects.all().delete()
    SettledDue.history.all().delete()
    for repeat, words in said:
        repeat.refresh_from_db()
        save_as(None, repeat, "made_until", reason=words)


def told_from_histories() -> list[tuple[CostEntry, date, str]]:
    import_module("costing.migrations.0030_settled_payments_so_far").tell(apps, None)
    rows = SettledDue.objects.order_by("due_on").select_related("cost", "repeat")
    told = SettledDue.history.filter(history_change_reason="Told from the histories").values_list("id", flat=True)
    assert sorted(told) == sorted(row.pk for row in rows)
    assert all(row.cost.repeat == row.repeat for row in rows)
    return [(row.cost, row.due_on, str(row.amount)) for row in rows]


def test_what_the_schedule_took_is_told_from_its_repeat(car: Car, repeat: Repeat) -> None:
    same = {"car": car, "category": "cleaning", "paid_on": TODAY}
    taken, other = CostEntryFactory(amount="62.00", **same), CostEntryFactory(amount="5.00", **same)
    again = CostEntryFactory(amount="62.00", repeat=repeat, ref=made_ref(repeat.ref, BEFORE), **same)
    words = "taken as the one you logged on 16 March 2026"
    as_before(
        (repeat, f"19 February 2026: {words}"),
        (repeat, f"19 March 2026: {words}"),
        (repeat, f"19 March 2026: {words}"),
        (repeat, "19 January 2026: taken as the one you logged on 16 January 2026"),
        (repeat, "What day: taken as the one you logged on 16 January 2026"),
    )
    assert told_from_histories() == [(taken, DUE, "62.00")]
    other.refresh_from_db()
    again.refresh_from_db()
    assert (other.repeat, again.repeat) == (None, repeat)


def test_a_phone_without_a_signal_knows_what_is_awaited(car: Car, repeat: Repeat) -> None:
    limits = plausible_kit(car.keeper, TODAY)["limits"]["cost"][car.registration]
    assert limits["awaited"] == [[DUE.isoformat(), "cleaning", 62_00, made_ref(repeat.ref, DUE)]]
