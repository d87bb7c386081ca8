"""The command ``whats_due``."""

import json
import re
from collections.abc import Callable
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from config.commands import DataSaysNo
from fleet.models import Car
from instructors.models import Member
from tests.factories import CarFactory, DueItemFactory, OdometerReadingFactory
from tests.processes import BookProcess


def whats_due(*arguments: str) -> dict[str, Any]:
    out = StringIO()
    call_command("whats_due", "--json", *arguments, stdout=out)
    answer: dict[str, Any] = json.loads(out.getvalue())
    return answer


@pytest.mark.django_db
def test_json_has_the_whole_of_the_format(car: Car, keeper: Member) -> None:
    OdometerReadingFactory.create(car=car, read_on=date(2025, 12, 16), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 16), miles=41_800)
    DueItemFactory.create(car=car, kind="service", due_on=date(2026, 9, 1), due_miles=42_000)
    DueItemFactory.create(car=car, due_on=date(2026, 3, 15))
    DueItemFactory.create(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 5, 1))
    unknown = {"due_on": None, "due_miles": None, "forecast_on": None, "state": "unknown", "days_left": None}
    by_day = {"due_miles": None, "forecast_on": None}
    assert whats_due("--on", "2026-03-16") == {
        "on": "2026-03-16",
        "cars": [
            {
                "registration": "QA51ABC",
                "verdict": "off_the_road",
                "off_the_road": True,
                "reasons": ["mot"],
                "items": [
                    {"kind": "mot", "due_on": "2026-03-15", "state": "overdue", "days_left": -1} | by_day,
                    {"kind": "insurance"} | unknown,
                    {"kind": "vehicle_tax"} | unknown,
                    {
                        "kind": "service",
                        "due_on": "2026-09-01",
                        "due_miles": 42_000,
                        "forecast_on": "2026-03-26",
                        "state": "due",
                        "days_left": 10,
                    },
                ],
            }
        ],
        "members": [
            {
                "email": "keeper@book.example",
                "name": "Wren Applegarth",
                "items": [
                    {"kind": "adi_registration", "due_on": "2026-05-01", "state": "due", "days_left": 46} | by_day
                ],
            }
        ],
    }


@pytest.mark.django_db
def test_states_are_as_of_the_day_that_is_asked_for(car: Car) -> None:
    DueItemFactory.create(car=car, due_on=date(2026, 5, 1))
    states = [
        whats_due("--on", day)["cars"][0]["items"][-1 if day == "2026-03-31" else 0]["state"]
        for day in ("2026-03-31", "2026-05-02")
    ]
    assert states == ["later", "overdue"]


@pytest.mark.django_db
def test_without_a_day_it_is_today(car: Car, today: date) -> None:
    assert whats_due()["on"] == "2026-03-16"


@pytest.mark.django_db
def test_one_car_alone_however_its_mark_is_typed(car: Car, colleague_car: Car) -> None:
    answer = whats_due("--car", "qb02 xyz")
    assert [one["registration"] for one in answer["cars"]] == ["QB02XYZ"]
    assert answer["members"] == []


@pytest.mark.django_db
def test_a_car_that_is_not_there_or_not_there_any_more_is_refused() -> None:
    CarFactory.create(registration="QA51OLD", in_service_to=date(2026, 3, 1))
    with pytest.raises(DataSaysNo, match="no car QA99 XXX in the book"):
        whats_due("--car", "QA99 XXX")
    with pytest.raises(DataSaysNo, match="was not in service any more on 16 March 2026"):
        whats_due("--car", "QA51OLD", "--on", "2026-03-16")


@pytest.mark.django_db
def test_a_person_gets_a_table_worst_first(car: Car) -> None:
    DueItemFactory.create(car=car, kind="service", due_on=date(2026, 3, 20))
    DueItemFactory.create(car=car, due_on=date(2026, 3, 15))
    out = StringIO()
    call_command("whats_due", "--on", "2026-03-16", stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0] == "As of 16 March 2026"
    assert re.split(" {2,}", lines[4]) == ["QA51 ABC", "Off the road", "MOT ran out on 15 March 2026"]
    assert re.split(" {2,}", lines[8]) == ["QA51 ABC", "MOT", "Overdue", "15 March 2026, 1 day overdue"]


@pytest.mark.django_db(transaction=True)
def test_exit_status_in_a_shell(car: Car, book_process: Callable[..., BookProcess]) -> None:
    unknown = book_process("manage.py", "whats_due", "--car", "QA99XXX", "--json")
    wrong_use = book_process("manage.py", "whats_due", "--on", "2026-02-30", "--json")
    done = book_process("manage.py", "whats_due", "--on", "2026-03-16", "--json")
    assert (unknown.wait(), unknown.output()) == (1, "There is no car QA99 XXX in the book.\n")
    assert wrong_use.wait() == 2
    assert "'2026-02-30' is no day of the calendar" in wrong_use.output()
    assert done.wait() == 0
    assert json.loads(done.output())["cars"][0]["registration"] == "QA51ABC"
