"""Writing down what was done to a member, and what of it came too late to count."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from instructors import tasks
from instructors.actions import change_settings, record_act, record_leaving, record_return, record_settings_changes
from instructors.models import Act, ActKind, ActMail, Cooperative, Member
from instructors.queries import late_changes
from tests.factories import ActFactory, MemberFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
NOON = datetime(2026, 3, 16, 12, tzinfo=UTC)
CAR = {"kind": ActKind.CAR, "subject": "car:7", "about": "QA51 ABC"}


def test_what_one_person_does_together_is_told_in_one_mail(coordinator: Member, keeper: Member) -> None:
    acts = [
        record_act(by=coordinator, concerns=keeper, **CAR, field=field, now="2026-02-28", is_mailed=True)
        for field in ("in_service_from", "in_service_to")
    ]
    assert acts[0].mail == acts[1].mail != None  # noqa: E711 - a mail, and the same
    assert (acts[0].mail.recipient, acts[0].mail.by, acts[0].told_at) == (keeper, coordinator, None)


def test_what_is_not_mailed_has_no_mail(coordinator: Member, keeper: Member) -> None:
    act = record_act(by=coordinator, concerns=keeper, **CAR, field="checked", is_mailed=False)
    assert (act.mail, ActMail.objects.count()) == (None, 0)


@pytest.mark.parametrize("state", [{"state": "sending"}, {"state": "sent"}, {"attempt_count": 1}])
def test_a_mail_that_somebody_has_tried_to_send_takes_nothing_more(
    coordinator: Member, keeper: Member, state: dict[str, Any]
) -> None:
    first = record_act(by=coordinator, concerns=keeper, **CAR, is_mailed=True)
    ActMail.objects.update(**state)
    second = record_act(by=coordinator, concerns=keeper, **CAR, is_mailed=True)
    assert first.mail != second.mail


def test_of_two_people_and_to_two_people_each_has_a_mail_of_its_own(
    coordinator: Member, keeper: Member, colleague: Member
) -> None:
    for by, concerns in ((coordinator, keeper), (colleague, keeper), (None, keeper), (coordinator, colleague)):
        record_act(by=by, concerns=concerns, **CAR, is_mailed=True)
    assert ActMail.objects.count() == 4


def test_a_text_that_is_too_long_is_cut(coordinator: Member, keeper: Member) -> None:
    act = record_act(by=coordinator, concerns=keeper, kind=ActKind.CONDITION, now="a" * 300, is_mailed=False)
    act.refresh_from_db()
    assert (len(act.now), act.now[-1]) == (200, "…")


def test_the_nudge_waits_for_the_commit(
    coordinator: Member, keeper: Member, django_capture_on_commit_callbacks: Callable[..., Any]
) -> None:
    with django_capture_on_commit_callbacks() as callbacks:
        for _ in range(2):
            record_act(by=coordinator, concerns=keeper, **CAR, is_mailed=True)
    assert len(callbacks) == 1


def test_what_does_not_happen_is_not_recorded(coordinator: Member, keeper: Member) -> None:
    with transaction.atomic():
        record_act(by=coordinator, concerns=keeper, **CAR, is_mailed=True)
        transaction.set_rollback(True)
    assert (Act.objects.count(), ActMail.objects.count()) == (0, 0)


# --- What came too late ---------------------------------------------------------------------------------------


def test_a_change_is_late_until_its_mail_was_accepted_in_time() -> None:
    untold = ActFactory(happened_at=NOON)
    late = ActFactory(told_at=NOON + timedelta(seconds=1), happened_at=NOON - timedelta(days=1))
    ActFactory(told_at=NOON)
    with CaptureQueriesContext(
        connection,
    ) as queries:
        found = late_changes(None, accepted_by=NOON)
        assert [(act.pk, act.by.name, act.concerns.name) for act in found]
    assert (found, len(queries)) == ([untold, late], 1)


def test_only_what_another_changed_and_was_to_be_mailed_is_late(keeper: Member) -> None:
    ActFactory(concerns=keeper, by=keeper)
    ActFactory(mail=None)
    ActFactory(field="")
    by_the_server = ActFactory(by=None, mail__by=None)
    assert late_changes(None, accepted_by=NOON) == [by_the_server]


def test_fields_are_named_whole_or_by_their_beginning() -> None:
    reading = ActFactory(field="reading:2026-03-05", happened_at=NOON)
    keeper = ActFactory(field="keeper")
    ActFactory(field="keeper_of_bees")
    assert late_changes({"reading:", "keeper"}, accepted_by=NOON) == [reading, keeper]
    assert late_changes({"reading:"}, accepted_by=NOON) == [reading]
    assert late_changes(set(), accepted_by=NOON) == []


# --- What is done to people and settings ----------------------------------------------------------------------


def test_leaving_and_coming_back_are_told(coordinator: Member, keeper: Member) -> None:
    record_leaving(by=coordinator, member=keeper, left_on=date(2026, 3, 31))
    record_leaving(by=coordinator, member=keeper, left_on=date(2026, 3, 31))
    record_return(by=coordinator, member=keeper)
    acts = Act.objects.order_by("pk").values_list("subject", "field", "was", "now", "mail__recipient")
    key = f"member:{keeper.pk}"
    assert list(acts) == [
        (key, "left_on", "", "2026-03-31", keeper.pk),
        (key, "left_on", "2026-03-31", "", keeper.pk),
    ]


def test_settings_that_figures_rest_on_are_told_to_every_active_member(coordinator: Member, keeper: Member) -> None:
    MemberFactory(left_on=date(2026, 3, 15))
    same = {
        "by": coordinator,
        "name": "Three Valleys",
        "nation": "NI",
        "reminder_hour": 8,
        "tyre_life_miles": 9,
        "closing_day": 10,
        "rounding": 20,
        "coordinators_need_second_factor": False,
        "rent_or_own_is_open": True,
    }
    for _ in range(2):
        change_settings(**same, minimum_contributors=7, depreciation_rate="0.2")
    acts = Act.objects.all()
    assert {(act.concerns_id, act.kind, act.field, act.was, act.now, act.mail is None) for act in acts} == {
        (keeper.pk, "settings", "minimum_contributors", "5", "7", False),
        (keeper.pk, "settings", "depreciation_rate", "0.15", "0.2", False),
        (coordinator.pk, "settings", "minimum_contributors", "5", "7", True),
        (coordinator.pk, "settings", "depreciation_rate", "0.15", "0.2", True),
    }
    assert Cooperative.objects.get().minimum_contributors == 7


def test_other_settings_can_be_told_the_same_way(coordinator: Member, keeper: Member) -> None:
    record_settings_changes(by=coordinator, changes={"closing_day": ("10", "12")})
    act = Act.objects.get(concerns=keeper)
    assert (act.subject, act.field, act.was, act.now, act.mail.by) == (
        "settings",
        "closing_day",
        "10",
        "12",
        coordinator,
    )


# --- How long it is kept --------------------------------------------------------------------------------------


def test_an_act_is_kept_for_400_days_and_longer_only_while_nobody_is_told() -> None:
    now = timezone.now()
    old, just = now - timedelta(days=400, seconds=1), now - timedelta(days=400)
    kept = [
        ActFactory(happened_at=old),
        ActFactory(happened_at=just, mail=None),
        ActFactory(happened_at=just, told_at=now),
    ]
    ActFactory(happened_at=old, mail=None)
    told = ActFactory(happened_at=old, told_at=old)
    ActMail.objects.filter(pk=told.mail_id).update(state="sent")
    tasks.clean()
    assert set(Act.objects.all()) == set(kept)
    assert set(ActMail.objects.all()) == {kept[0].mail, kept[2].mail}
