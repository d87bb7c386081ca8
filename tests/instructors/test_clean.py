"""The nightly cleaning: what is too old goes, what still counts stays, and running it twice changes nothing."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.utils import timezone

from config.celery import app
from config.housekeeping import Kept, retention
from instructors.actions import clean_up
from instructors.models import BackupDrill, BackupRun, Cleaning, Invitation, Member
from instructors.tasks import clean
from tests.factories import BackupDrillFactory, BackupRunFactory, InvitationFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
NOW = datetime(2026, 3, 16, 12, tzinfo=UTC)


def days_ago(days: float) -> datetime:
    return NOW - timedelta(days=days)


def test_the_schedule_cleans_each_night() -> None:
    tasks = [entry["task"] for entry in app.conf.beat_schedule.values()]
    assert tasks.count("instructors.tasks.clean") == 1


def test_every_row_of_the_table_says_what_how_long_and_why() -> None:
    rows = list(retention())
    assert len({row.name for row in rows}) == len(rows)
    for row in rows:
        assert row.what[0].isupper(), row.name
        assert not row.how_long.endswith("."), row.name
        assert row.why.endswith("."), row.name
        # What goes because nobody needs it rests on the law that says so.
        assert bool(row.clean) <= bool(row.source), row.name


def test_what_was_noted_of_a_browser_goes_with_its_session(member: Member) -> None:
    for key, days in (("over", -1), ("goes on", 1)):
        Session.objects.create(session_key=key, expire_date=timezone.now() + timedelta(days=days))
        UserSession.objects.create(user=member, session_key=key, ip="192.0.2.1", user_agent=key)
    clean()
    assert list(UserSession.objects.values_list("session_key", flat=True)) == ["goes on"]
    assert Cleaning.objects.get(name="sign_ins").count == 1


@pytest.fixture
def member(keeper: Member) -> Member:
    return keeper


def test_old_invitations_go_whatever_became_of_them() -> None:
    over = {"accepted_at": days_ago(91)}, {"withdrawn_at": days_ago(91)}, {"expires_at": days_ago(91)}
    recent = {"accepted_at": days_ago(89)}, {"withdrawn_at": days_ago(89)}, {"expires_at": days_ago(89)}
    stay = [InvitationFactory.create(**fields) for fields in (*recent, {})]
    for fields in over:
        InvitationFactory.create(**fields)
    clean()
    assert set(Invitation.objects.all()) == set(stay)


def test_the_last_backup_stays_however_old_it_is() -> None:
    old = {"made_at": days_ago(500), "ended_at": days_ago(500)}
    BackupRunFactory.create(made_at=days_ago(501), ended_at=days_ago(501))
    last = BackupRunFactory.create(**old)
    BackupRunFactory.create(**old, error="no room")
    failed = BackupRunFactory.create(made_at=days_ago(399), ended_at=days_ago(399), error="no room")
    clean()
    assert set(BackupRun.objects.all()) == {last, failed}


def test_the_last_drill_that_went_well_stays_with_its_backup_however_old_they_are() -> None:
    ran = [
        BackupRunFactory.create(made_at=days_ago(days), ended_at=days_ago(days)) for days in (700, 600, 500, 450, 449)
    ]
    for backup in ran[:2]:
        good = BackupDrillFactory.create(backup=backup, ended_at=backup.ended_at)
    BackupDrillFactory.create(backup=ran[2], ended_at=days_ago(500), error="cut")
    recent = BackupDrillFactory.create(backup=ran[3], ended_at=days_ago(399), error="cut")
    clean()
    assert set(BackupDrill.objects.all()) == {good, recent}
    # A drill that is still noted has its backup noted too, and the last backup always is.
    assert set(BackupRun.objects.all()) == {ran[1], ran[3], ran[4]}


def test_what_fails_keeps_nothing_else_from_being_cleaned(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.RETENTION = ["tests.instructors.test_clean.TWO"]
    clean_up(NOW)
    assert list(Cleaning.objects.values_list("name", "count")) == [("works", 3)]


def _fails(_: datetime) -> int:
    raise OSError


_WORKS: Callable[[datetime], int] = lambda _: 3  # noqa: E731
TWO = (Kept("fails", "a", "b", "c.", clean=_fails), Kept("works", "a", "b", "c.", clean=_WORKS))


def test_cleaning_again_changes_nothing_but_when_it_was(keeper: Member) -> None:
    InvitationFactory.create(expires_at=days_ago(91))
    clean_up(NOW)
    assert Cleaning.objects.get(name="invitations").count == 1
    clean_up(NOW + timedelta(days=1))
    again = Cleaning.objects.get(name="invitations")
    assert (again.count, again.at) == (0, NOW + timedelta(days=1))
    assert set(Cleaning.objects.values_list("name", flat=True)) == {row.name for row in retention() if row.clean}
