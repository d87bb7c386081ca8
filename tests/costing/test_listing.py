"""Rows of the entries that were saved together, repeat, or have receipts."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import Batch, Receipt, Repeat
from costing.queries.listing import entries_of
from costing.queries.search import Search
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import shown
from tests.costing.test_entries import QUERIES
from tests.factories import CostEntryFactory, FillFactory, TeachingRecordFactory

ENTRIES = reverse("costing:entries")

pytestmark = pytest.mark.usefixtures("today")


def week_of(car: Car, monday: date, **changes: Any) -> Batch:
    """A week of lessons saved together: four a day from Monday to Saturday, and 30 private miles."""
    batch = Batch.objects.create(member=car.keeper, kind="week")
    for number in range(6):
        day = monday + timedelta(days=number)
        TeachingRecordFactory(
            car=car,
            batch=batch,
            from_on=day,
            to_on=day,
            lesson_count=4,
            minutes=360,
            private_miles=0 if number else 30,
            **changes,
        )
    return batch


def test_a_week_saved_together_is_one_row_that_opens_its_days(everyone: dict[str, Client], car: Car) -> None:
    week_of(car, date(2026, 3, 2))
    TeachingRecordFactory(car=car, from_on="2026-03-09", to_on="2026-03-09", lesson_count=1, minutes=90)
    page = everyone["keeper"].get(ENTRIES).content.decode()
    assert page.count('<details class="opens">') == 1
    opened = page[page.index('<details class="opens">') :]
    assert opened.count('href="/entries/lessons/') == 6
    text = shown(everyone["keeper"], ENTRIES)
    assert "March 2026 25 lessons, 37.5 hours" in text
    assert "Lessons 2 to 7, 36 hours, 30 private miles 24 lessons Sat 7 6 hours 4 lessons" in text


def test_a_week_over_the_end_of_a_month_stands_in_both_so_that_each_adds_up(
    everyone: dict[str, Client], car: Car
) -> None:
    week_of(car, date(2026, 2, 23))
    week_of(car, date(2025, 12, 29))
    text = shown(everyone["keeper"], ENTRIES)
    assert "February 2026 24 lessons, 36 hours Lessons 23 to 28" in text
    assert "January 2026 12 lessons, 18 hours Lessons 1 to 3" in text
    assert "December 2025 12 lessons, 18 hours Lessons 29 to 31" in text


def test_a_day_that_was_voided_is_apart_from_its_week(everyone: dict[str, Client], car: Car) -> None:
    batch = week_of(car, date(2026, 3, 2))
    first = batch.teachingrecord_set.order_by("from_on").first()
    first.voided_at = timezone.now()
    first.save()
    assert "Lessons 3 to 7, 30 hours 20 lessons" in shown(everyone["keeper"], ENTRIES)
    text = shown(everyone["keeper"], f"{ENTRIES}?voided=1")
    assert "Lessons 3 to 7, 30 hours 20 lessons" in text
    assert "Mon 2, 6 hours, 30 private miles Voided 4 lessons" in text


def test_weeks_count_as_one_row_of_a_page_and_take_no_more_queries(
    everyone: dict[str, Client], car: Car, django_assert_num_queries: Any
) -> None:
    monday = date(2026, 3, 9)
    for number in range(30):
        week_of(car, monday - timedelta(weeks=number))
    FillFactory(car=car)
    CostEntryFactory(car=car)
    with django_assert_num_queries(QUERIES):
        page = everyone["keeper"].get(ENTRIES).content.decode()
    assert "Page 1 of 2" in page
    listed = entries_of(car.keeper, Search())
    assert len(listed.rows) == 25
    assert listed.total.lessons == 30 * 24


def test_an_import_is_found_from_any_of_its_rows(everyone: dict[str, Client], car: Car, colleague: Member) -> None:
    batch = Batch.objects.create(member=car.keeper, kind="import", created_at=datetime(2026, 3, 12, 9, tzinfo=UTC))
    CostEntryFactory(car=car, supplier="Corner Workshop", batch=batch)
    FillFactory(car=car, batch=batch, odometer=48_123)
    CostEntryFactory(car=car, supplier="Elsewhere")
    page = everyone["keeper"].get(ENTRIES).content.decode()
    assert page.count(f'href="{ENTRIES}?batch={batch.pk}">imported on 12 March 2026') == 2
    text = shown(everyone["keeper"], f"{ENTRIES}?batch={batch.pk}")
    assert "An import, saved on 12 March 2026." in text
    assert "In all: £47.92 in fills, £86.40 in costs, £134.32 together ." in text
    assert "Elsewhere" not in text
    for who in ("colleague", "coordinator", "stranger"):
        assert everyone[who].get(f"{ENTRIES}?batch={batch.pk}").status_code == 404


def test_what_a_repeat_made_and_what_has_receipts_says_so(everyone: dict[str, Client], car: Car) -> None:
    repeat = Repeat.objects.create(
        ref="r", car=car, member=car.keeper, category="insurance", amount=60, interval="month", starts_on="2026-01-02"
    )
    cost = CostEntryFactory(car=car, category="insurance", supplier="Premium", repeat=repeat)
    fill = FillFactory(car=car)
    for number, of in enumerate(({"cost": cost}, {"fill": fill}, {"fill": fill})):
        Receipt.objects.create(
            member=car.keeper,
            position=number,
            size=2,
            picture=ContentFile(b"p", "p.jpg"),
            thumbnail=ContentFile(b"t", "t.jpg"),
            **of,
        )
    text = shown(everyone["keeper"], ENTRIES)
    assert "Premium, repeats every month, receipt £86.40" in text
    assert "miles, 2 pages of receipts £47.92" in text
