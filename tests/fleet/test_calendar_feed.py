"""The calendar at a secret address, as calendar programs read it."""

from datetime import date, datetime, timedelta
from typing import Any

import icalendar
import pytest
import time_machine
import vobject
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions import book_due_item, change_due_item, complete_due_item, open_feed, record_reading
from fleet.models import Car, DueItem, FeedScope
from instructors.models import Member
from tests.factories import DueItemFactory, OdometerReadingFactory
from tests.fleet.reminding import TODAY

pytestmark = pytest.mark.usefixtures("today")


def address(member: Member, scope: str = FeedScope.OWN) -> str:
    _, token = open_feed(by=member, scope=scope)
    return reverse("fleet:calendar-feed", args=[token])


def read(path: str) -> bytes:
    response = Client().get(path)
    assert response.status_code == 200
    return response.content


def events_in(content: bytes) -> dict[str, Any]:
    """Its events by title."""
    return {str(event["summary"]): event for event in icalendar.Calendar.from_ical(content).events}


def known_in(content: bytes) -> dict[str, Any]:
    """Its events by title, without those that say that nothing is known."""
    return {title: event for title, event in events_in(content).items() if not title.startswith("Not known")}


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory.create(car=car, due_on=date(2026, 3, 31))


def test_an_item_is_one_whole_day_that_blocks_no_time(keeper: Member, mot: DueItem) -> None:
    event = events_in(read(address(keeper)))["MOT: QA51 ABC"]
    assert (event["dtstart"].dt, event["dtend"].dt) == (date(2026, 3, 31), date(2026, 4, 1))
    assert event["dtstart"].params["VALUE"] == "DATE"
    assert event["transp"] == "TRANSPARENT"
    assert "Book an MOT test." in event["description"]
    assert event["url"].endswith("/cars/QA51ABC/")
    assert event["url"] in event["description"]


def test_it_rings_a_week_and_a_day_before_at_nine(keeper: Member, mot: DueItem) -> None:
    event = events_in(read(address(keeper)))["MOT: QA51 ABC"]
    midnight = datetime(2026, 3, 31)  # noqa: DTZ001 - a whole day has no time zone
    rings = [midnight + alarm["trigger"].dt for alarm in event.walk("VALARM")]
    assert [f"{moment:%d %B %H:%M}" for moment in rings] == ["24 March 09:00", "30 March 09:00"]
    assert all(alarm["action"] == "DISPLAY" and alarm["description"] for alarm in event.walk("VALARM"))


def test_a_booked_day_is_an_event_of_its_own(keeper: Member, mot: DueItem) -> None:
    book_due_item(by=keeper, item=mot, booked_for=date(2026, 3, 20))
    events = events_in(read(address(keeper)))
    assert events["Booked, MOT: QA51 ABC"]["dtstart"].dt == date(2026, 3, 20)
    assert events["MOT: QA51 ABC"]["dtstart"].dt == date(2026, 3, 31)
    assert events["Booked, MOT: QA51 ABC"]["uid"] != events["MOT: QA51 ABC"]["uid"]


def test_what_is_overdue_stays_on_its_day_and_what_is_unknown_is_there_today(keeper: Member, car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on=date(2026, 2, 27))
    events = events_in(read(address(keeper)))
    assert {title: event["dtstart"].dt for title, event in events.items()} == {
        "Off the road: QA51 ABC": TODAY,
        "Insurance: QA51 ABC": date(2026, 2, 27),
        "Not known, MOT: QA51 ABC": TODAY,
        "Not known, Vehicle tax: QA51 ABC": TODAY,
    }
    stopped = events["Off the road: QA51 ABC"]
    assert stopped["description"].startswith("Insurance ran out on 27 February 2026.\n")
    unknown = events["Not known, MOT: QA51 ABC"]
    assert "Enter the last day on the MOT certificate." in unknown["description"]
    assert not unknown.walk("VALARM")


def test_once_it_is_known_it_is_the_same_event_on_its_day(keeper: Member, car: Car) -> None:
    path = address(keeper)
    unknown = events_in(read(path))["Not known, MOT: QA51 ABC"]
    DueItemFactory(car=car, due_on=date(2026, 3, 31))
    known = events_in(read(path))["MOT: QA51 ABC"]
    assert (known["uid"], known["dtstart"].dt) == (unknown["uid"], date(2026, 3, 31))
    assert known["sequence"] > unknown["sequence"]


def test_a_first_mot_by_rule_is_there_without_a_row(keeper: Member, car: Car) -> None:
    car.first_registered = date(2023, 6, 10)
    car.save()
    assert events_in(read(address(keeper)))["MOT: QA51 ABC"]["dtstart"].dt == date(2026, 6, 10)


def test_a_change_moves_the_same_event_and_raises_its_sequence(keeper: Member, mot: DueItem) -> None:
    path = address(keeper)
    before = events_in(read(path))["MOT: QA51 ABC"]
    with time_machine.travel("2026-03-16T15:30:00Z", tick=False):
        change_due_item(by=keeper, item=mot, due_on=date(2026, 4, 2))
        changed = events_in(read(path))["MOT: QA51 ABC"]
        complete_due_item(by=keeper, item=mot, done_on=date(2026, 3, 16))
        met = events_in(read(path))["MOT: QA51 ABC"]
    assert before["uid"] == changed["uid"] == met["uid"]
    assert [one["dtstart"].dt for one in (before, changed, met)] == [
        date(2026, 3, 31),
        date(2026, 4, 2),
        date(2027, 4, 2),
    ]
    assert before["sequence"] < changed["sequence"] < met["sequence"]
    assert before["last-modified"].dt < changed["last-modified"].dt
    assert f"{changed['last-modified'].dt:%Y-%m-%d %H:%M %Z}" == "2026-03-16 15:30 UTC"


def test_a_row_that_takes_the_place_of_a_rule_never_lowers_the_sequence(keeper: Member, car: Car) -> None:
    car.first_registered = date(2023, 6, 10)
    car.save()
    path = address(keeper)
    by_rule = events_in(read(path))["MOT: QA51 ABC"]
    DueItemFactory(car=car, due_on=date(2026, 6, 10))
    recorded = events_in(read(path))["MOT: QA51 ABC"]
    assert by_rule["uid"] == recorded["uid"]
    assert by_rule["sequence"] < recorded["sequence"]


def test_a_forecast_moves_with_the_odometer_and_says_so(keeper: Member, car: Car) -> None:
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=30_000)
    OdometerReadingFactory(car=car, read_on=date(2026, 2, 14), miles=20_000)
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 16), miles=23_000)  # 100 a day, 7,000 to go
    path = address(keeper)
    event = events_in(read(path))["Service: QA51 ABC"]
    assert event["dtstart"].dt == date(2026, 5, 25)
    assert "Forecast from 3,000 miles in 30 days" in event["description"]
    with time_machine.travel("2026-03-26T12:00:00Z", tick=False):
        record_reading(by=keeper, car=car, read_on=date(2026, 3, 26), miles=26_000)
        moved = events_in(read(path))["Service: QA51 ABC"]
    assert moved["uid"] == event["uid"]
    assert moved["dtstart"].dt < event["dtstart"].dt
    assert moved["last-modified"].dt > event["last-modified"].dt


def test_one_sees_ones_own_cars_and_credentials_only(
    keeper: Member, mot: DueItem, colleague_car: Car, colleague: Member
) -> None:
    DueItemFactory(car=colleague_car, due_on=date(2026, 4, 4))
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 8, 31))
    assert set(known_in(read(address(keeper)))) == {"MOT: QA51 ABC", "ADI registration"}
    assert set(known_in(read(address(colleague)))) == {"MOT: QB02 XYZ"}


def test_the_groups_holds_all_of_it_and_nobodys_name_or_address(
    keeper: Member, mot: DueItem, colleague_car: Car, colleague: Member, coordinator: Member
) -> None:
    DueItemFactory(car=colleague_car, due_on=date(2026, 4, 4))
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 8, 31))
    content = read(address(coordinator, FeedScope.GROUP))
    assert set(known_in(content)) == {"MOT: QA51 ABC", "MOT: QB02 XYZ", "ADI registration"}
    unfolded = content.decode().replace("\r\n ", "")
    for member in (keeper, colleague, coordinator):
        assert member.name not in unfolded
        assert member.email not in unfolded
    assert not events_in(read(address(coordinator)))


def test_a_car_that_has_left_service_is_gone_from_it(keeper: Member, mot: DueItem, car: Car) -> None:
    car.in_service_to = date(2026, 3, 15)
    car.save()
    assert not events_in(read(address(keeper)))


def test_whoever_has_left_has_no_calendar_from_the_day_after(keeper: Member, mot: DueItem) -> None:
    path = address(keeper)
    keeper.left_on = date(2026, 3, 16)
    keeper.save()
    assert Client().get(path).status_code == 200
    keeper.left_on = date(2026, 3, 15)
    keeper.save()
    assert Client().get(path).status_code == 404


def test_the_groups_goes_with_the_role(coordinator: Member) -> None:
    path, own = address(coordinator, FeedScope.GROUP), address(coordinator)
    coordinator.role = "member"
    coordinator.save()
    assert Client().get(path).status_code == 404
    assert Client().get(own).status_code == 200


@pytest.mark.parametrize("token", ["none", "0" * 64, "%F0%9F%9A%97"])
@pytest.mark.usefixtures("mot")
def test_a_guess_finds_nothing(token: str) -> None:
    assert Client().get(f"/calendar/{token}.ics").status_code == 404


def test_the_digest_is_no_way_in(keeper: Member) -> None:
    feed, _ = open_feed(by=keeper, scope=FeedScope.OWN)
    assert Client().get(reverse("fleet:calendar-feed", args=[feed.token_digest])).status_code == 404


def test_it_is_kept_by_nobody_on_the_way_and_asked_for_again_cheaply(keeper: Member, mot: DueItem) -> None:
    path = address(keeper)
    first = Client().get(path)
    assert first.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert "private" in first.headers["Cache-Control"]
    assert first.headers["Referrer-Policy"] == "no-referrer"
    assert first.headers["X-Robots-Tag"] == "noindex"
    assert not first.cookies
    again = Client().get(path, headers={"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    change_due_item(by=keeper, item=mot, due_on=date(2026, 4, 2))
    assert Client().get(path, headers={"If-None-Match": first.headers["ETag"]}).status_code == 200


def test_the_same_data_give_the_same_bytes(keeper: Member, mot: DueItem, car: Car, today: date) -> None:
    for kind in ("insurance", "vehicle_tax"):
        DueItemFactory(car=car, kind=kind, due_on=date(2026, 9, 30))
    path = address(keeper)
    first = read(path)
    with time_machine.travel(datetime.fromisoformat("2026-03-16T23:00:00+00:00"), tick=False):
        assert read(path) == first
    with time_machine.travel(datetime.fromisoformat("2026-03-20T12:00:00+00:00"), tick=False):
        assert read(path) == first


def test_a_note_with_anything_in_it_comes_through_two_readers(keeper: Member, car: Car) -> None:
    note = "Zażółć; gęślą, jaźń\\n BEGIN:VEVENT 🚗 " * 9
    DueItemFactory(car=car, note=note.strip(), due_on=date(2026, 3, 31))
    content = read(address(keeper))
    assert all(len(line) <= 75 for line in content.split(b"\r\n"))
    assert b"\n" not in content.replace(b"\r\n", b"")
    [event] = known_in(content).values()
    assert note.strip() in event["description"]
    [read_otherwise] = [one for one in vobject.readOne(content.decode()).vevent_list if one.uid.value == event["uid"]]
    assert note.strip() in read_otherwise.description.value
    assert read_otherwise.dtstart.value == date(2026, 3, 31)


def test_a_second_reader_finds_it_valid(keeper: Member, mot: DueItem) -> None:
    calendar = vobject.readOne(read(address(keeper)).decode())
    assert calendar.validate(raiseException=True)
    assert calendar.version.value == "2.0"
    assert calendar.prodid.value
    assert calendar.vevent.valarm_list[0].trigger.value == timedelta(days=-7, hours=9)
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT6H" in read(address(keeper))


def test_nothing_due_is_an_empty_calendar(stranger: Member) -> None:
    assert not events_in(read(address(stranger)))


def test_it_may_only_be_read(keeper: Member) -> None:
    path = address(keeper)
    assert Client().post(path).status_code == 405
    assert Client().head(path).status_code == 200


def test_rows_without_a_history_do_not_hinder_it(keeper: Member, car: Car) -> None:
    DueItem.objects.bulk_create([DueItem(car=car, kind="mot", due_on=date(2026, 3, 31))])
    Car.history.all().delete()
    event = events_in(read(address(keeper)))["MOT: QA51 ABC"]
    assert event["sequence"] == 0
    assert not DueItem.history.exists()


def test_the_number_of_queries_does_not_grow_with_the_cars(coordinator: Member, django_assert_num_queries: Any) -> None:
    path = address(coordinator, FeedScope.GROUP)
    DueItemFactory()
    read(path)  # the first of a day is written down
    with CaptureQueriesContext(connection) as few:
        read(path)
    for _ in range(10):
        DueItemFactory()
    with django_assert_num_queries(len(few)):
        read(path)
