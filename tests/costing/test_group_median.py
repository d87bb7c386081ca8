"""`group_median`: the JSON of formats.md, and nothing below the minimum of contributors."""

import json
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command

from config.commands import DataSaysNo
from tests.costing.test_closing import group


def run(*arguments: str) -> Any:
    out = StringIO()
    call_command("group_median", *arguments, "--json", stdout=out)
    return json.loads(out.getvalue())


def test_a_month_that_is_over_is_closed_when_first_asked_for(today: date, db: None) -> None:
    group("500", "600", "700", "800", "900")
    assert run("--month", "2026-02") == {
        "month": "2026-02",
        "span": "month",
        "contributors": 5,
        "minimum": 5,
        "median_cost_per_lesson": "14.00",
        "median_cost_per_lesson_hour": "7.00",
        "median_cost_per_mile": "0.70",
        "lower_quartile_cost_per_lesson_hour": None,
        "upper_quartile_cost_per_lesson_hour": None,
        "suppressed": False,
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


def test_a_month_that_is_not_over_is_refused(today: date, db: None) -> None:
    with pytest.raises(DataSaysNo, match="2026-03 is not over yet"):
        run("--month", "2026-03")
