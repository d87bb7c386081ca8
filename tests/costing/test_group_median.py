"""`group_median`: the JSON of formats.md, and nothing below the minimum of contributors."""

import json
from datetime import date
from io import StringIO
from typing import Any

import pytest
import time_machine
from django.core.management import call_command

from config.commands import DataSaysNo
from costing.models import GroupFigure
from instructors.models import Cooperative
from tests.costing.test_closing import group


def run(*arguments: str) -> Any:
    out = StringIO()
    call_command("group_median", *arguments, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_a_month_past_its_closing_day_is_closed_when_first_asked_for(today: date, db: None) -> None:
    group("500.00", "600.00", "709.99", "800.00", "900.00")
    assert run("--month", "2026-02") == {
        "month": "2026-02",
        "span": "month",
        "contributors": 5,
        "out": 0,
        "minimum": 5,
        "median_cost_per_lesson_hour": "7.00",
        "median_cost_per_mile": "0.70",
        "lower_quartile_cost_per_lesson_hour": None,
        "upper_quartile_cost_per_lesson_hour": None,
        "suppressed": False,
        "rounded_to": 20,
    }


def test_the_year_is_the_twelve_months_ending_with_that_one(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    answer = run("--month", "2026-02", "--span", "year")
    assert (answer["span"], answer["median_cost_per_lesson_hour"]) == ("year", "7.00")


def test_too_few_contributors_show_no_figure_in_json_or_table(today: date, db: None) -> None:
    group("500", "600", "700", "800")
    answer = run("--month", "2026-02")
    assert answer["suppressed"] is True
    assert {value for name, value in answer.items() if "cost" in name} == {None}
    out = StringIO()
    call_command("group_median", "--month", "2026-02", stdout=out)
    assert "£" not in out.getvalue()
    assert "Too few" in out.getvalue()


def test_quartiles_that_are_left_out_say_why(today: date, db: None) -> None:
    group("100", "260", "700", "700.01", "799.98", "900", "1000")

    def table() -> str:
        out = StringIO()
        call_command("group_median", "--month", "2026-02", stdout=out)
        return out.getvalue()

    assert table().count("too few contributors") == 2
    GroupFigure.objects.all().delete()
    group("1100")
    assert table().count("not stored: it could give somebody's cost away") == 2
    answer = run("--month", "2026-02")
    assert (answer["contributors"], answer["suppressed"], answer["median_cost_per_lesson_hour"]) == (8, False, "7.40")
    assert answer["lower_quartile_cost_per_lesson_hour"] is answer["upper_quartile_cost_per_lesson_hour"] is None


def test_the_minimum_is_the_larger_of_then_and_now(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900", "1000")
    settings = Cooperative.objects.create(minimum_contributors=6)
    run("--month", "2026-02")
    for now, shown in ((5, 6), (7, 7)):
        settings.minimum_contributors = now
        settings.save()
        answer = run("--month", "2026-02")
        assert (answer["minimum"], answer["suppressed"]) == (shown, shown > 6)


def test_a_month_before_its_closing_day_is_refused_and_names_it(today: date, db: None) -> None:
    with pytest.raises(DataSaysNo, match="2026-03 is closed on 10 April 2026"):
        run("--month", "2026-03")
    with time_machine.travel(date(2026, 3, 9), tick=False), pytest.raises(DataSaysNo, match="10 March 2026"):
        run("--month", "2026-02")
    assert not GroupFigure.objects.exists()
