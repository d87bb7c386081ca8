"""Which steps are told to whom, each once."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from config.claims import this_process
from fleet.actions import book_due_item, complete_due_item, record_reading
from fleet.core.defects import Severity
from fleet.models import Car, Defect, DefectState, DueItem, MailState, Notice, ReminderMail, UnknownSpell
from fleet.queries import due_report
from fleet.reminders import plan_reminders
from instructors.models import Member
from tests.factories import (
    ConfirmationFactory,
    CoordinatorFactory,
    DefectFactory,
    OdometerReadingFactory,
    TreadReadingFactory,
)
from tests.fleet.reminding import TODAY, due_item, in_days, steps_told_to

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today", "in_order")]


def sent(on: date) -> None:
    """As if that day's mails had gone."""
    ReminderMail.objects.filter(day=on).update(state=MailState.SENT)


def run_nights(first: date, count: int) -> None:
    for night in range(count):
        plan_reminders(first + timedelta(days=night))
        sent(first + timedelta(days=night))


def test_every_step_is_told_once_on_its_day(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(35))
    run_nights(TODAY, 40)
    assert [step for _, step in steps_told_to(keeper)] == [30, 14, 7, 1, 0, -1, -2, -3, -4]
    days = ReminderMail.objects.filter(recipient=keeper).order_by("day").values_list("day", flat=True)
    assert [(in_days(35) - day).days for day in days] == [30, 14, 7, 1, 0, -1, -2, -3, -4]


def test_a_registration_is_told_in_time_for_the_criminal_record_check(keeper: Member) -> None:
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(125))
    run_nights(TODAY, 125)
    assert [step for _, step in steps_told_to(keeper)] == [120, 30, 14, 7, 1]


def test_overdue_is_told_weekly_if_it_does_not_stop_the_car(car: Car, keeper: Member) -> None:
    due_item(car=car, kind="breakdown_cover", due_on=in_days(1))
    run_nights(TODAY, 20)
    assert [step for _, step in steps_told_to(keeper)] == [1, 0, -7, -14]


def test_a_missed_step_is_told_at_the_next_run_once(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(12))  # 30 and 14 were never told
    run_nights(TODAY, 3)
    assert steps_told_to(keeper) == [("mot", 14)]


def test_planning_twice_changes_nothing(car: Car, keeper: Member, coordinator: Member) -> None:
    due_item(car=car, due_on=in_days(7))
    first, second = plan_reminders(TODAY), plan_reminders(TODAY)
    assert (first.new_count, second.new_count) == (2, 0)
    assert first.mail_ids == second.mail_ids
    assert Notice.objects.count() == 2
    sent(TODAY)
    third = plan_reminders(TODAY)
    assert (third.mail_ids, third.new_count, third.already_told_count) == ([], 0, 2)


def test_a_member_gets_one_mail_a_day_for_all_that_is_theirs(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(7))
    due_item(car=car, kind="insurance", due_on=in_days(-1))
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(30))
    plan = plan_reminders(TODAY)
    assert len(plan.mail_ids) == 1
    assert set(steps_told_to(keeper)) == {("mot", 7), ("insurance", -1), ("adi_registration", 30)}


def test_coordinators_hear_of_others_within_a_week_and_of_their_own_from_the_first_step(
    car: Car, colleague_car: Car, coordinator: Member
) -> None:
    colleague_car.keeper = coordinator
    colleague_car.save()
    due_item(car=car, due_on=in_days(14))
    due_item(car=car, kind="insurance", due_on=in_days(7))
    due_item(car=colleague_car, kind="vehicle_tax", due_on=in_days(30))
    plan_reminders(TODAY)
    assert set(steps_told_to(coordinator)) == {("insurance", 7), ("vehicle_tax", 30)}


def test_other_members_hear_nothing(car: Car, colleague: Member, stranger: Member) -> None:
    due_item(car=car, due_on=in_days(-1))
    plan_reminders(TODAY)
    assert steps_told_to(colleague) == steps_told_to(stranger) == []


def test_members_who_left_hear_nothing_but_the_coordinators_do(car: Car, keeper: Member, coordinator: Member) -> None:
    gone = CoordinatorFactory.create(left_on=in_days(-1))
    keeper.left_on = in_days(-1)
    keeper.save()
    due_item(car=car, due_on=in_days(1))
    plan_reminders(TODAY)
    assert steps_told_to(keeper) == steps_told_to(gone) == []
    assert steps_told_to(coordinator) == [("mot", 1)]


def test_who_wants_no_reminders_hears_only_what_the_law_asks_for(car: Car, keeper: Member, coordinator: Member) -> None:
    Member.objects.update(wants_due_mail=False)
    keeper.refresh_from_db()
    for kind in ("service", "tyres", "dual_controls", "breakdown_cover", "other", "vehicle_tax", "mot", "insurance"):
        due_item(car=car, kind=kind, due_on=in_days(7))
    for kind in ("adi_registration", "pdi_licence", "driving_licence"):
        due_item(car=None, member=keeper, kind=kind, due_on=in_days(7))
    plan_reminders(TODAY)
    assert {kind for kind, _ in steps_told_to(keeper)} == {
        *("vehicle_tax", "mot", "insurance", "adi_registration", "pdi_licence", "driving_licence")
    }
    assert len(steps_told_to(coordinator)) == 11  # the group's list is what they look after


def test_a_plan_for_some_leaves_the_others_for_later(car: Car, keeper: Member, coordinator: Member) -> None:
    due_item(car=car, due_on=in_days(7))
    assert plan_reminders(TODAY, [coordinator]).new_count == 1
    assert steps_told_to(keeper) == []
    assert plan_reminders(TODAY, [keeper]).new_count == 1
    assert (steps_told_to(keeper), steps_told_to(coordinator)) == ([("mot", 7)], [("mot", 7)])


def test_a_car_out_of_service_is_not_told_of(car: Car) -> None:
    due_item(car=car, due_on=in_days(1))
    car.in_service_to = in_days(-1)
    car.save()
    assert plan_reminders(TODAY).new_count == 0


def test_a_booking_quiets_the_steps_until_the_booked_day_is_over(car: Car, keeper: Member) -> None:
    item = due_item(car=car, due_on=in_days(20))
    book_due_item(by=keeper, item=item, booked_for=in_days(10))
    run_nights(TODAY, 11)
    assert steps_told_to(keeper) == []
    run_nights(in_days(11), 1)  # nobody recorded a pass: nine days are left
    assert steps_told_to(keeper) == [("mot", 14)]


def test_a_booking_does_not_quiet_the_day_nor_what_is_overdue(car: Car, keeper: Member) -> None:
    """Told on its day, on the day it runs out, then weekly until the booked day has passed, and then daily again."""
    due_item(car=car, due_on=in_days(5), booked_for=in_days(14))
    run_nights(TODAY, 18)  # the booked day is nine days after the last good one
    assert [step for _, step in steps_told_to(keeper)] == [0, -1, -7, -10, -11, -12]


def test_the_next_time_round_is_told_anew(car: Car, keeper: Member) -> None:
    item = due_item(car=car, due_on=in_days(7))
    run_nights(TODAY, 1)
    complete_due_item(by=keeper, item=item, done_on=TODAY)
    run_nights(date(2027, 3, 16), 1)
    occurrences = Notice.objects.filter(recipient=keeper).values_list("occurrence", "step")
    assert list(occurrences) == [("2026-03-23", 7), ("2027-03-23", 7)]


def test_a_moving_forecast_repeats_no_step(car: Car, keeper: Member) -> None:
    OdometerReadingFactory.create(car=car, read_on=in_days(-90), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=TODAY, miles=41_800)
    due_item(car=car, kind="service", due_on=None, due_miles=42_000)  # in 10 days
    run_nights(TODAY, 1)
    record_reading(by=keeper, car=car, read_on=TODAY, miles=41_200)  # a slip: it is 60 days off
    run_nights(in_days(1), 1)
    record_reading(by=keeper, car=car, read_on=TODAY, miles=41_800)
    run_nights(in_days(2), 1)
    assert steps_told_to(keeper) == [("service", 14)]


def test_a_first_mot_by_rule_is_told_on_and_on_and_stays_by_rule(car: Car, keeper: Member) -> None:
    """The law asks for it from three years after first registration on: that day, 23 March, it is overdue."""
    car.first_registered, car.in_service_from = date(2023, 3, 23), date(2023, 4, 1)
    car.save()
    car.due_items.filter(kind="mot").delete()
    run_nights(TODAY, 10)
    assert steps_told_to(keeper) == [("mot", 7), ("mot", 1), ("mot", 0), ("mot", -1), ("mot", -2)]
    assert set(Notice.objects.values_list("occurrence", flat=True)) == {"2026-03-23"}
    assert car.due_items.get(kind="mot").due_on is None
    [passed] = due_report(in_days(9)).cars
    assert passed.off_the_road


def test_what_is_not_known_is_told_weekly_to_keeper_and_coordinators(
    car: Car, keeper: Member, coordinator: Member, stranger: Member
) -> None:
    car.due_items.filter(kind="vehicle_tax").delete()
    run_nights(TODAY, 16)
    weekly = [("vehicle_tax", 0), ("vehicle_tax", -1), ("vehicle_tax", -2)]
    assert steps_told_to(keeper) == steps_told_to(coordinator) == weekly
    assert steps_told_to(stranger) == []
    days = ReminderMail.objects.filter(recipient=keeper).order_by("day").values_list("day", flat=True)
    assert [(day - TODAY).days for day in days] == [0, 7, 14]
    assert not car.due_items.filter(kind="vehicle_tax").exists()


def test_the_weeks_count_from_when_it_was_first_seen_and_anew_after_it_was_known(car: Car, keeper: Member) -> None:
    tax = car.due_items.get(kind="vehicle_tax")
    tax_until = tax.due_on
    DueItem.objects.filter(pk=tax.pk).update(due_on=None)
    plan_reminders(TODAY)  # the server died before this mail went
    run_nights(in_days(15), 1)
    DueItem.objects.filter(pk=tax.pk).update(due_on=tax_until)
    run_nights(in_days(16), 1)
    assert not UnknownSpell.objects.exists()
    DueItem.objects.filter(pk=tax.pk).update(due_on=None)
    run_nights(in_days(30), 1)
    assert steps_told_to(keeper) == [("vehicle_tax", -2), ("vehicle_tax", 0)]
    assert [spell.since for spell in UnknownSpell.objects.all()] == [in_days(30)]


def test_what_is_in_doubt_is_told_by_its_day_too(car: Car, keeper: Member) -> None:
    """Nobody has confirmed that the policy covers tuition: it runs out all the same."""
    car.confirmations.all().delete()
    due_item(car=car, kind="insurance", due_on=in_days(7))
    run_nights(TODAY, 9)
    assert sorted(step for _, step in steps_told_to(keeper)) == [-1, -1, 0, 0, 1, 7]
    unknown = Notice.objects.filter(recipient=keeper, occurrence__startswith="unknown").values_list("step", flat=True)
    assert list(unknown) == [0, -1]


@pytest.mark.parametrize("severity", [Severity.DANGEROUS, Severity.BEFORE_NEXT_LESSON])
def test_a_defect_that_stops_the_car_is_told_daily(
    car: Car, keeper: Member, coordinator: Member, severity: Severity
) -> None:
    defect = DefectFactory.create(car=car, severity=severity, found_on=in_days(-2))
    run_nights(TODAY, 2)
    Defect.objects.filter(pk=defect.pk).update(state=DefectState.CLOSED, closed_on=in_days(2))
    run_nights(in_days(2), 3)
    assert steps_told_to(keeper) == steps_told_to(coordinator) == [(severity, -2), (severity, -3)]
    assert set(Notice.objects.values_list("occurrence", flat=True)) == {"2026-03-14"}


def test_two_defects_found_together_are_one_notice_and_found_apart_two(car: Car, keeper: Member) -> None:
    for days in (-1, -1, 0):
        DefectFactory.create(car=car, severity=Severity.DANGEROUS, found_on=in_days(days))
    run_nights(TODAY, 1)
    assert steps_told_to(keeper) == [("dangerous", -1), ("dangerous", 0)]


def test_a_tyre_and_a_policy_that_stop_the_car_are_told_daily_whatever_one_chose_to_hear(
    car: Car, keeper: Member
) -> None:
    Member.objects.update(wants_due_mail=False)
    TreadReadingFactory.create(car=car, read_on=in_days(-1), inner="1.5")
    ConfirmationFactory.create(car=car, is_met=False, confirmed_on=in_days(-4))
    DefectFactory.create(car=car, severity=Severity.WATCH)
    run_nights(TODAY, 2)
    told = [("tread", -1), ("cover", -4), ("insurance", 0), ("tread", -2), ("cover", -5)]
    assert steps_told_to(keeper) == told  # no policy is known that covers tuition: that is told weekly


def test_a_lapsed_licence_is_told_daily_unless_another_lets_one_teach(keeper: Member) -> None:
    due_item(car=None, member=keeper, kind="pdi_licence", due_on=TODAY)
    run_nights(TODAY, 3)
    assert steps_told_to(keeper) == [("pdi_licence", 0), ("pdi_licence", -1), ("pdi_licence", -2)]
    due_item(car=None, member=keeper, kind="adi_registration", due_on=in_days(400))
    run_nights(in_days(3), 8)
    assert steps_told_to(keeper)[3:] == [("pdi_licence", -7)]


def test_once_the_mail_of_the_day_has_gone_new_notices_wait_for_the_next(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(7))
    run_nights(TODAY, 1)
    due_item(car=car, kind="insurance", due_on=in_days(1))
    assert plan_reminders(TODAY).new_count == 0
    run_nights(in_days(1), 1)
    assert steps_told_to(keeper) == [("mot", 7), ("insurance", 0)]
    assert ReminderMail.objects.filter(recipient=keeper).count() == 2


def test_while_the_mail_waits_new_notices_join_it(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(7))
    first = plan_reminders(TODAY)
    due_item(car=car, kind="insurance", due_on=in_days(1))
    assert plan_reminders(TODAY).mail_ids == first.mail_ids
    assert set(steps_told_to(keeper)) == {("mot", 7), ("insurance", 1)}


def test_unsent_mails_of_the_days_before_go_into_todays(car: Car, keeper: Member) -> None:
    due_item(car=car, due_on=in_days(14))
    due_item(car=car, kind="insurance", due_on=in_days(-1))
    for night in range(5):
        plan = plan_reminders(in_days(night))
    assert set(steps_told_to(keeper)) == {("mot", 14), ("insurance", -5)}
    states = ReminderMail.objects.order_by("day").values_list("state", flat=True)
    assert list(states) == ["superseded"] * 4 + ["queued"]
    assert plan.mail_ids == [ReminderMail.objects.get(day=in_days(4)).pk]


def test_a_mail_that_is_being_sent_is_left_to_its_sender(car: Car) -> None:
    due_item(car=car, due_on=in_days(14))
    plan_reminders(TODAY)
    ReminderMail.objects.update(state=MailState.SENDING, claimed_by=this_process(), claimed_at=timezone.now())
    plan = plan_reminders(in_days(1))
    assert (plan.mail_ids, plan.new_count, plan.already_told_count) == ([], 0, 1)
    assert ReminderMail.objects.get().state == MailState.SENDING
