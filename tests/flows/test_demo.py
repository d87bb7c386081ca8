"""From nothing to figures: the demonstration's book comes in as an archive, and every command answers of it."""

import json
from datetime import date, timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from config.commands import DataSaysNo
from costing.demo.book import write_demo_archive
from costing.demo.cast import MEMBER
from costing.demo.receipts import make_receipts
from costing.models import CostEntry, Fill, GroupFigure, Receipt, TeachingRecord
from costing.planning.report import pot_report
from fleet.core.defects import Severity
from fleet.core.tread import LEGAL_LEAST, PRACTICE_LEAST, readings_of_tyre
from fleet.models import (
    Car,
    Completion,
    Defect,
    DefectState,
    DueItem,
    TyreMove,
    WalkaroundCheck,
    Wheel,
)
from fleet.queries import tread_reports
from fleet.queries.condition import treads_of
from instructors.models import Invitation, Member
from tests.factories import InvitationFactory, MemberFactory


def answer(*command: str) -> Any:
    out = StringIO()
    call_command(*command, "--json", stdout=out)
    return json.loads(out.getvalue())


@pytest.fixture
def demo_book(today: date, db: None, tmp_path: Path) -> None:
    write_demo_archive(tmp_path, today)
    call_command("load_archive", str(tmp_path), stdout=StringIO())


def test_the_same_day_gives_the_same_book(today: date, tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
        write_demo_archive(folder, today)
    one, two = ({file.name: file.read_bytes() for file in folder.iterdir()} for folder in folders)
    assert one == two


@pytest.mark.parametrize("day", [date(2028, 2, 29), date(2026, 12, 31), date(2027, 1, 1)])
def test_the_book_can_be_made_up_on_any_day(db: None, tmp_path: Path, day: date) -> None:
    write_demo_archive(tmp_path, day)
    call_command("load_archive", str(tmp_path), stdout=StringIO())
    assert Member.objects.count() == 9


def test_nine_cars_have_a_cost_and_the_gaps_are_told(demo_book: None) -> None:
    cars = answer("running_cost", "--from", "2025-03-01", "--to", "2026-02-28")["cars"]
    assert len(cars) == 9
    assert all(float(car["true_cost"]) > 0 for car in cars)
    by_mark = {car["registration"]: car for car in cars}
    assert by_mark["QA22HVC"]["miles_per_kwh"]
    assert by_mark["QA73HVE"]["by_category"]["rental"]
    assert by_mark["QA23HVD"]["by_category"]["interest"]
    assert by_mark["QA15HVI"]["missing"]


def test_the_group_has_a_median_and_a_year_of_months_adds_up(demo_book: None) -> None:
    median = answer("group_median", "--month", "2026-02", "--span", "year")
    assert median["suppressed"] is False
    assert float(median["median_cost_per_lesson_hour"]) > 0
    # Closed with it is every month before, from the first on in which a member had standing.
    assert GroupFigure.objects.count() == 2 * 16
    months = ["2025-12-01", "2025-12-31", "2026-01-01", "2026-01-31", "2025-12-01", "2026-01-31"]
    december, january, both = (
        answer("running_cost", "--from", first, "--to", last, "--car", "QA23HVD")["cars"][0]["true_cost"]
        for first, last in zip(months[::2], months[1::2], strict=True)
    )
    assert round(float(december) + float(january), 2) == float(both)


def test_two_cars_are_off_the_road_and_an_old_one_without_an_mot_is_not_known(demo_book: None) -> None:
    cars = {car["registration"]: car for car in answer("whats_due")["cars"]}
    # One for a dangerous defect and an MOT that has run out, one for a defect to be put right before the next lesson.
    assert {mark for mark, car in cars.items() if car["off_the_road"]} == {"QA12HVF", "QA18HVB"}
    states = {item["kind"]: item["state"] for item in cars["QA15HVI"]["items"]}
    assert states["mot"] == "unknown"
    assert Car.objects.count() == 9
    assert DueItem.objects.filter(car__registration="QA15HVI", kind="mot").count() == 0


def test_defects_of_every_sort_are_there_to_be_looked_at(demo_book: None) -> None:
    assert set(Defect.objects.values_list("state", flat=True)) == set(DefectState.values)
    assert set(Defect.objects.values_list("severity", flat=True)) == set(Severity)
    assert set(Defect.objects.values_list("found_by", flat=True)) == {"check", "mot"}
    dangerous = Defect.objects.get(severity=Severity.DANGEROUS)
    assert (dangerous.car.registration, dangerous.state) == ("QA12HVF", "waiting")


def test_cars_are_looked_round_most_weeks_and_some_have_lapsed(demo_book: None, today: date) -> None:
    last = {car.registration: car.checks.latest("checked_on").checked_on for car in Car.objects.all()}
    lapsed = {mark for mark, day in last.items() if (today - day).days > 7}
    assert lapsed == {"QA73HVE", "QA17HVH", "QA15HVI"}
    assert WalkaroundCheck.objects.count() > 400
    assert any("own-roof-sign" in check.points for check in WalkaroundCheck.objects.all())


def test_one_car_is_low_on_tread_and_none_is_below_what_the_law_asks(demo_book: None, today: date) -> None:
    treads = treads_of(list(Car.objects.values_list("pk", flat=True)), today)
    lowest = [
        min(readings_of_tyre(wheel, depths, moves)[-1].lowest for wheel in Wheel.values)
        for depths, moves in treads.values()
        if depths
    ]
    assert len(lowest) == 8
    assert sum(mm < PRACTICE_LEAST for mm in lowest) == 1
    assert min(lowest) > LEGAL_LEAST
    assert TyreMove.objects.filter(came_from="").exists()
    assert TyreMove.objects.exclude(came_from="").exists()


def test_tyres_that_were_paid_for_are_fitted_on_that_day_and_their_wear_is_known(demo_book: None, today: date) -> None:
    paid = CostEntry.objects.filter(category="tyres").exclude(car__registration="QA15HVI")
    last: dict[int, date] = {}
    for cost in paid.order_by("paid_on"):
        last[cost.car_id] = cost.paid_on
    assert len(last) == 7
    reports = tread_reports(list(Car.objects.filter(pk__in=last)), today)
    for pk, paid_on in last.items():
        assert {wheel.fitted_on for wheel in reports[pk].wheels} == {paid_on}
        assert not [wheel.missing for wheel in reports[pk].wheels if wheel.missing]
    for email in ("maren@hollinvale.example", MEMBER):
        pot = pot_report(Member.objects.get(email=email), today)
        assert "Tyres" not in [one.title for one in pot.bills.not_known]


def test_the_member_who_is_shown_has_receipts_and_a_last_week_of_days(
    demo_book: None, files_folder: Path, today: date
) -> None:
    make_receipts(member := Member.objects.get(email=MEMBER))
    assert {type(receipt.fill or receipt.cost) for receipt in Receipt.objects.filter(member=member)} == {
        Fill,
        CostEntry,
    }
    taught = TeachingRecord.objects.filter(member=member, from_on__gt=today - timedelta(weeks=4))
    assert len(taught) > 14
    assert all(record.from_on == record.to_on for record in taught)
    assert not [record for record in taught if record.from_on.isoweekday() == 7 and record.lesson_count]


def test_what_was_met_is_told_with_what_it_cost(demo_book: None) -> None:
    met = Completion.objects.filter(due_item__kind="mot")
    assert met
    assert set(met.values_list("cost_ref", flat=True)) <= set(CostEntry.objects.values_list("ref", flat=True))
    assert DueItem.objects.get(kind="other").closed_on


def test_one_car_lacks_one_answer_and_one_whether_its_insurance_covers_tuition(demo_book: None) -> None:
    answered = {car.registration: set(car.confirmations.values_list("point", flat=True)) for car in Car.objects.all()}
    assert answered["QA23HVD"] - answered["QA69HVA"] == {"badge_displayed"}
    assert answered["QA23HVD"] - answered["QA22HVC"] == {"tuition_insurance"}


def test_the_demonstration_leaves_a_real_book_alone(today: date, db: None) -> None:
    MemberFactory.create(email="somebody@book.example")
    with pytest.raises(DataSaysNo, match="This book has real members"):
        call_command("demo", "--no-serve", stdout=StringIO())
    assert Member.objects.filter(email="somebody@book.example").exists()


def test_the_demonstration_leaves_a_book_alone_into_which_somebody_is_invited(today: date, db: None) -> None:
    """Between the first invitation and its acceptance a real book has no member yet."""
    InvitationFactory(email="somebody@book.example", invited_by=None)
    with pytest.raises(DataSaysNo, match="This book has real members"):
        call_command("demo", "--no-serve", stdout=StringIO())
    assert Invitation.objects.filter(email="somebody@book.example").exists()
