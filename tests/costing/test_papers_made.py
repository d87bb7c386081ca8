"""How papers are asked for, made and let go: each is a row, whose state changes by conditional updates alone."""

import logging
import os
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone

from config import budgets, claims
from config.celery import app
from costing.actions import ask_for_paper, make_paper, remove_paper
from costing.actions.papers import TakenOver
from costing.models import Paper, PaperState
from costing.models.papers import CLAIM_LIFE
from costing.queries import papers_to_make
from costing.tasks import make_paper as make_paper_task
from fleet.models import Car
from instructors.models import Member
from instructors.tasks import clean
from tests.costing.papers import DAYS, FAILURES, asked, failing, made, making
from tests.servers import Redis, wait_until

pytestmark = pytest.mark.usefixtures("today", "files_folder")

ENDED = "another-host/1/1"


def test_it_is_made_with_its_file_and_how_far_it_was(keeper: Member) -> None:
    paper = asked(keeper)
    assert make_paper(paper.pk, making(b"%PDF made"))
    paper.refresh_from_db()
    assert (paper.state, paper.made_at) == ("made", timezone.now())
    with paper.file.open("rb") as file:
        assert file.read() == b"%PDF made"
    assert (paper.page, paper.pages, paper.attempt_count, paper.error) == (12, 12, 1, "")
    assert not make_paper(paper.pk, making(b"%PDF again"))


def test_progress_is_written_down_as_it_goes(keeper: Member) -> None:
    paper, seen = asked(keeper), []

    def maker(claimed: Paper, told: object) -> bytes:
        for page in (1, 2):
            told(page, 2)
            seen.append(Paper.objects.values_list("state", "page", "pages").get())
        return b"%PDF"

    make_paper(paper.pk, {"statement": maker})
    assert seen == [("making", 1, 2), ("making", 2, 2)]


@pytest.mark.parametrize(("error", "words"), FAILURES, ids=lambda value: type(value).__name__)
def test_what_fails_says_why_and_is_not_tried_again(
    keeper: Member, error: Exception, words: str, caplog: pytest.LogCaptureFixture
) -> None:
    paper = asked(keeper)
    with caplog.at_level(logging.CRITICAL):
        assert not make_paper(paper.pk, failing(error))
    paper.refresh_from_db()
    assert paper.state == PaperState.FAILED
    assert words in paper.error
    assert papers_to_make() == []


@pytest.mark.django_db(transaction=True)
def test_one_that_takes_too_long_is_told_as_failed_while_its_maker_still_hangs(
    keeper: Member, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(budgets, "PAPER_SECONDS", 0.1)
    paper = asked(keeper)

    def maker(claimed: Paper, told: object) -> bytes:
        wait_until(lambda: Paper.objects.get().state == PaperState.FAILED, "the end of its time")
        told(1, 2)
        raise AssertionError("it goes on after its time")

    with caplog.at_level(logging.CRITICAL):
        assert not make_paper(paper.pk, {"statement": maker})
    paper.refresh_from_db()
    assert paper.error == "It took longer than 10 minutes, so it was given up. Ask for less at once."
    assert papers_to_make() == []


def test_one_that_hangs_holds_its_process_hardly_longer_than_its_member_waits() -> None:
    assert budgets.PAPER_SECONDS < make_paper_task.time_limit <= budgets.PAPER_SECONDS + 60


def test_one_that_nobody_was_told_of_is_looked_for_each_minute_at_night_too() -> None:
    assert app.conf.beat_schedule["make-papers"]["schedule"].hour == set(range(24))


def test_a_file_beyond_the_bound_is_not_kept(
    keeper: Member, monkeypatch: pytest.MonkeyPatch, files_folder: Path
) -> None:
    monkeypatch.setattr(budgets, "PAPER_BYTES", 3)
    paper = asked(keeper)
    assert not make_paper(paper.pk, making(b"%PDF"))
    paper.refresh_from_db()
    assert "less at once" in paper.error
    assert not list(files_folder.rglob("*.pdf"))


def test_whoever_lost_it_stops_and_leaves_no_file(keeper: Member, files_folder: Path) -> None:
    paper = asked(keeper)

    def taken_over(*_: object) -> bytes:
        Paper.objects.update(claimed_by=ENDED)
        return b"%PDF late"

    assert not make_paper(paper.pk, {"statement": taken_over})
    assert not list(files_folder.rglob("*.pdf"))
    assert Paper.objects.get().state == PaperState.MAKING

    def removed(claimed: Paper, told: object) -> bytes:
        Paper.objects.all().delete()
        with pytest.raises(TakenOver):
            told(1, 2)
        raise TakenOver

    again = asked(keeper)
    assert not make_paper(again.pk, {"statement": removed})
    assert not Paper.objects.exists()


def test_a_claim_holds_while_its_process_runs_and_no_longer(keeper: Member) -> None:
    now = timezone.now()
    for holder, ago, is_free in (
        (claims.this_process(), timedelta(minutes=1), False),
        (claims.this_process(), CLAIM_LIFE, True),
        (claims.this_process().replace(f"/{os.getpid()}/", "/999999999/"), timedelta(minutes=1), True),
        (ENDED, timedelta(minutes=1), False),
    ):
        paper = asked(keeper, state="making", claimed_by=holder, claimed_at=now - ago)
        assert (papers_to_make() == [paper.pk]) is is_free
        assert make_paper(paper.pk, making()) is is_free
        paper.delete()


def test_what_has_ended_three_processes_is_given_up(keeper: Member) -> None:
    paper = asked(keeper, attempt_count=budgets.PAPER_ATTEMPTS)
    assert not make_paper(paper.pk, making())
    paper.refresh_from_db()
    assert (paper.state, "fails again" in paper.error) == ("failed", True)


def test_asked_twice_it_is_the_same_until_it_is_made(keeper: Member, colleague: Member, car: Car) -> None:
    first = ask_for_paper(by=keeper, kind="statement", days=DAYS)
    assert ask_for_paper(by=keeper, kind="statement", days=DAYS) == first
    assert ask_for_paper(by=keeper, kind="statement", days=DAYS, car=car) != first
    assert ask_for_paper(by=colleague, kind="statement", days=DAYS) != first
    make_paper(first.pk, making())
    assert ask_for_paper(by=keeper, kind="statement", days=DAYS) != first


def test_one_member_has_so_many_waiting_and_so_many_kept(keeper: Member, colleague: Member) -> None:
    for number in range(budgets.PAPERS_WAITING):
        asked(keeper, first=DAYS[0] + timedelta(number))
    with pytest.raises(ValidationError, match="being made for you already"):
        ask_for_paper(by=keeper, kind="statement", days=DAYS[:1] * 2)
    ask_for_paper(by=colleague, kind="statement", days=DAYS)
    Paper.objects.filter(member=keeper).update(state="failed")
    for _ in range(budgets.PAPERS_OF_MEMBER - budgets.PAPERS_WAITING):
        made(keeper)
    with pytest.raises(ValidationError, match="Remove one first"):
        ask_for_paper(by=keeper, kind="statement", days=DAYS)


@pytest.mark.django_db(transaction=True)
def test_the_queue_is_told_after_the_commit_and_not_where_that_failed(keeper: Member, redis_server: Redis) -> None:
    with redis_server.client() as client:
        with transaction.atomic():
            ask_for_paper(by=keeper, kind="statement", days=DAYS)
            transaction.set_rollback(True)
        assert (Paper.objects.count(), client.llen("celery")) == (0, 0)
        ask_for_paper(by=keeper, kind="statement", days=DAYS)
        assert client.llen("celery") == 1
        ask_for_paper(by=keeper, kind="statement", days=DAYS)
        assert client.llen("celery") == 1


def test_a_paper_goes_with_its_file_and_by_its_owner_alone(
    keeper: Member, colleague: Member, files_folder: Path, django_capture_on_commit_callbacks: object
) -> None:
    paper = made(keeper)
    with pytest.raises(PermissionError):
        remove_paper(by=colleague, paper=paper)
    with django_capture_on_commit_callbacks(execute=True):
        remove_paper(by=keeper, paper=paper)
    assert not list(files_folder.rglob("*.pdf"))


def test_old_papers_and_files_of_none_are_swept(
    keeper: Member, files_folder: Path, django_capture_on_commit_callbacks: object
) -> None:
    kept = made(keeper)
    made(keeper, asked_at=timezone.now() - timedelta(days=budgets.PAPER_DAYS, minutes=1))
    for name, hours in (("left.pdf", 25), ("being-written.pdf", 1)):
        (files_folder / "papers" / name).write_bytes(b"%PDF")
        moment = (timezone.now() - timedelta(hours=hours)).timestamp()
        os.utime(files_folder / "papers" / name, (moment, moment))
    with django_capture_on_commit_callbacks(execute=True):
        clean()
    assert list(Paper.objects.all()) == [kept]
    left = {path.name for path in (files_folder / "papers").iterdir()}
    assert left == {f"{kept.pk}.pdf", "being-written.pdf"}


def test_the_schedule_looks_for_what_waits() -> None:
    tasks = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert {"costing.tasks.make_waiting_papers", "instructors.tasks.clean"} <= tasks
