"""Takings, out of the book and into it: a week is told once, whatever its reference."""

from datetime import date
from pathlib import Path

import pytest

from costing.archive.dumping import dump
from costing.archive.faults import ArchiveRefused
from costing.archive.loading import load
from costing.models import Takings
from costing.planning.services.takings import correct_takings, void_takings
from instructors.models import Member
from tests.costing.archive_sample import write_archive
from tests.costing.test_archive_dump import reloaded
from tests.factories import TakingsFactory

HEAD = "ref,member_email,from_on,to_on,amount,cancelled_lessons,cancelled_hours\n"

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def test_it_comes_back_to_the_byte(tmp_path: Path, keeper: Member) -> None:
    week = TakingsFactory.create(member=keeper, ref="w-1", cancelled_count=2, cancelled_minutes=95)
    correct_takings(by=keeper, takings=week, changes={"amount": 805})
    files = dump().files
    row = "w-1,keeper@book.example,2026-03-09,2026-03-15,805.00,2,"
    assert files["takings.csv"].decode().startswith(HEAD + row)
    assert reloaded(files, tmp_path) == files
    assert Takings.objects.get().cancelled_minutes == 95


def test_a_voided_week_is_in_no_file_and_stays_away(tmp_path: Path, keeper: Member) -> None:
    week = TakingsFactory.create(member=keeper)
    files = {name: data.decode() for name, data in dump().files.items()}
    void_takings(by=keeper, takings=week, reason="not mine")
    assert "takings.csv" not in dump().files
    assert not load(write_archive(tmp_path / "older", files)).added["takings.csv"]
    assert not Takings.objects.standing().exists()


def test_a_week_that_the_book_has_under_another_reference_is_refused(tmp_path: Path, keeper: Member) -> None:
    TakingsFactory.create(member=keeper, ref="w-1")
    again = f"{HEAD}w-2,KEEPER@book.example,2026-03-09,2026-03-15,1.00,,\n"
    with pytest.raises(ArchiveRefused) as refused:
        load(write_archive(tmp_path / "again", {"takings.csv": again}))
    assert [fault.column for fault in refused.value.faults] == ["from_on"]
    assert "takings are in the book already" in str(refused.value.faults[0])


def test_one_that_was_voided_may_come_in_anew(tmp_path: Path, keeper: Member) -> None:
    TakingsFactory.create(member=keeper, ref="w-1", voided_at="2026-03-15T09:00Z")
    again = f"{HEAD}w-2,keeper@book.example,2026-03-09,2026-03-15,1.00,,\n"
    assert load(write_archive(tmp_path / "again", {"takings.csv": again})).added["takings.csv"] == 1


def test_a_member_s_own_archive_has_their_own(keeper: Member, colleague: Member) -> None:
    TakingsFactory.create(member=keeper, ref="own")
    TakingsFactory.create(member=colleague, ref="other", from_on=date(2026, 3, 2))
    text = dump(keeper).files["takings.csv"].decode()
    assert "own," in text
    assert "other" not in text
