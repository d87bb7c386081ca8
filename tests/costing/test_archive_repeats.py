"""What repeats, out of the book and into it: what it made is known again, and nothing is made twice."""

from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from costing.actions import change_repeat, make_all_due, repeat_agreement, void_entry
from costing.archive.dumping import dump
from costing.archive.loading import load
from costing.models import CostEntry, Repeat
from fleet.models import Car
from instructors.models import Member
from tests.costing.archive_sample import write_archive
from tests.costing.test_archive_dump import reloaded
from tests.factories import AgreementFactory, RepeatFactory

TODAY = date(2026, 3, 16)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def test_what_it_made_is_known_again_and_a_voided_entry_stays_away(tmp_path: Path, car: Car, keeper: Member) -> None:
    RepeatFactory.create(car=car, covers_its_days=True)
    make_all_due(TODAY)
    void_entry(by=keeper, entry=CostEntry.objects.earliest("paid_on"), reason="not paid")
    files = dump().files
    assert reloaded(files, tmp_path) == files
    assert CostEntry.objects.get().repeat == Repeat.objects.get()
    assert make_all_due(TODAY) == 0


def test_an_agreement_knows_its_own_again(tmp_path: Path, car: Car, keeper: Member) -> None:
    agreement = AgreementFactory.create(car=car, starts_on=date(2026, 1, 31))
    repeat_agreement(by=keeper, agreement=agreement, ref="of-the-agreement", today=TODAY)
    RepeatFactory.create(car=car, starts_on=date(2026, 1, 31))
    files = dump().files
    assert reloaded(files, tmp_path) == files
    linked = Repeat.objects.order_by("ref").values_list("ref", "agreement__starts_on")
    assert dict(linked)["of-the-agreement"] == date(2026, 1, 31)
    assert sum(day is not None for day in dict(linked).values()) == 1


def test_entries_that_come_with_a_later_archive_are_linked_too(tmp_path: Path, car: Car) -> None:
    RepeatFactory.create(car=car)
    make_all_due(TODAY)
    files = {name: data.decode() for name, data in dump().files.items()}
    CostEntry.objects.all().delete()
    load(write_archive(tmp_path / "again", files))
    assert CostEntry.objects.filter(repeat=Repeat.objects.get()).count() == 2


def test_an_older_archive_adds_nothing_once_more_were_made_or_the_sum_has_changed(
    tmp_path: Path, car: Car, keeper: Member
) -> None:
    repeat = RepeatFactory.create(car=car)
    make_all_due(TODAY)
    files = {name: data.decode() for name, data in dump().files.items()}
    change_repeat(by=keeper, repeat=repeat, amount=Decimal(15), from_on=date(2026, 3, 31))
    make_all_due(date(2026, 4, 30))
    assert not any(load(write_archive(tmp_path / "older", files)).added.values())
    repeat.refresh_from_db()
    assert (repeat.amount, repeat.made_until) == (15, date(2026, 4, 30))


def test_a_member_s_own_archive_has_their_own(tmp_path: Path, car: Car, colleague_car: Car) -> None:
    RepeatFactory.create(car=car, ref="own")
    RepeatFactory.create(car=colleague_car, ref="other")
    text = dump(car.keeper).files["repeats.csv"].decode()
    assert "own," in text
    assert "other" not in text
