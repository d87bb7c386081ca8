"""`compare_offers`: the table and the JSON of formats.md, and how it leaves."""

import json
import subprocess
import sys
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from config.commands import DataSaysNo
from tests.costing.offers_faults import CASES, SAMPLE
from tests.processes import ROOT, environment

pytestmark = pytest.mark.django_db

FIGURES = {
    *("name", "total", "per_week", "per_mile", "per_lesson_hour", "up_front", "dearest_month", "apr", "quoted_apr"),
    *("hours_a_week_for_the_car", "present_value", "after_tax", "cash_flow", "breakdown"),
}


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "offers.toml"
    file.write_text(SAMPLE)
    return file


def called(path: Path, *arguments: str) -> str:
    out = StringIO()
    call_command("compare_offers", str(path), *arguments, stdout=out)
    return out.getvalue()


def answer(path: Path) -> Any:
    return json.loads(called(path, "--json"))


def run(path: Path, *arguments: str) -> tuple[int, str, str]:
    """The command as a process of its own: exit status, standard output and standard error."""
    done = subprocess.run(
        [sys.executable, "manage.py", "compare_offers", str(path), *arguments],
        cwd=ROOT, env=environment(), capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


def test_every_figure_of_an_offer_is_given_as_the_formats_say(path: Path) -> None:
    _, rental, _ = answer(path)["offers"]

    flow = [Decimal(month) for month in rental.pop("cash_flow")]
    assert (len(flow), sum(flow)) == (25, Decimal("20246.00"))
    # Worked out in test_compare.py: 104 x 129.00, 350.00 and 48,000 miles at 13.5p.
    assert rental == {
        "name": "Weekly rental, all in",
        "total": "20246.00",
        "per_week": "194.67",
        "per_mile": "0.42",
        "per_lesson_hour": "8.46",
        "up_front": "0.00",
        "dearest_month": {"month": 24, "amount": "1136.00"},
        "hours_a_week_for_the_car": "5.79",
        "apr": None,
        "quoted_apr": None,
        "present_value": "20246.00",
        "after_tax": "15640.04",
        "breakdown": {"payments": "13416.00", "damage": "350.00", "fuel": "6480.00"},
    }


def test_each_offer_adds_up_and_credit_has_its_rate_beside_the_one_quoted(path: Path) -> None:
    offers = answer(path)["offers"]

    for offer in offers:
        assert set(offer) == FIGURES
        assert sum(map(Decimal, offer["cash_flow"])) == sum(map(Decimal, offer["breakdown"].values()))
        assert sum(map(Decimal, offer["cash_flow"])) == Decimal(offer["total"])
        assert offer["up_front"] == offer["cash_flow"][0]
    assert [(offer["apr"], offer["quoted_apr"]) for offer in offers] == [("6.8", "11.9"), (None, None), (None, None)]


def test_each_what_if_is_worked_out_beside_the_base_case(path: Path) -> None:
    ill, left = answer(path)["what_if"]

    assert [ill["name"], left["name"]] == ["Ill for six weeks", "Leave after nine months"]
    assert ill["offers"][1]["total"] == "19823.39"  # 86 of 92 weeks of fuel
    assert left["offers"][1]["total"] == "8843.00"
    assert {len(offer["cash_flow"]) for offer in left["offers"]} == {10}


def test_switching_values_are_in_the_unit_of_the_file(path: Path) -> None:
    switching = answer(path)["switching"]
    [rent] = [
        one
        for one in switching
        if (one["input"], one["cheaper"], one["than"]) == ("payment", "Estate", "Weekly rental, all in")
    ]

    offers = {offer["name"]: Decimal(offer["total"]) for offer in answer(path)["offers"]}
    gap = offers["Weekly rental, all in"] - offers["Estate"]
    assert (rent["base"], rent["low"], rent["high"], rent["offer"]) == ("129", "0", "387", "Weekly rental, all in")
    assert abs(Decimal(rent["value"]) - (129 - gap / 104)) < Decimal("0.0002")
    assert any(one["value"] is None for one in switching)
    assert all("E" not in (one["value"] or "") for one in switching)


def test_the_odds_are_shares_of_one_and_the_same_every_time(path: Path) -> None:
    first, second = answer(path), answer(path)

    assert first == second
    assert sum(Decimal(one["cheapest"]) for one in first["odds"]) == 1
    for one in first["odds"]:
        assert Decimal(one["low"]) <= Decimal(one["middle"]) <= Decimal(one["high"])
    assert first["assumed"] == []


def test_the_table_has_the_cheapest_first_and_every_what_if(path: Path) -> None:
    path.write_text(SAMPLE.replace("mot = 54.85\n", ""))

    lines = called(path).splitlines()
    assert lines[0] == "Over 24 months from 1 January 2027, cheapest first"
    assert lines[4].startswith("Estate ")
    assert "If: Ill for six weeks" in lines
    assert "If: Leave after nine months" in lines
    assert "£20,246.00" in "\n".join(lines)
    assert any(line.startswith("  Weekly rental, all in wins if you leave after ") for line in lines)
    assert "Over 10,000 draws of the uncertain figures" in lines
    assert lines[-1] == "Not filled in, so counted as nothing: running, mot."


def test_a_file_without_what_ifs_and_odds_is_only_compared(path: Path) -> None:
    path.write_text(SAMPLE.partition("[[what_if]]")[0])

    assert "If:" not in called(path)
    found = answer(path)
    assert (found["what_if"], found["odds"]) == ([], [])


@pytest.mark.parametrize("name", CASES)
def test_what_is_wrong_with_a_file_is_refused_with_its_reason(path: Path, name: str) -> None:
    path.write_text(CASES[name].text)

    with pytest.raises(DataSaysNo) as refused:
        called(path, "--json")
    assert refused.value.returncode == 1
    assert CASES[name].words in str(refused.value)


def test_a_process_leaves_with_nothing_but_its_answer(path: Path) -> None:
    status, output, errors = run(path, "--json")

    assert (status, errors) == (0, "")
    assert set(json.loads(output)) == {"offers", "what_if", "switching", "odds", "assumed"}


def test_a_process_leaves_with_the_reasons_on_standard_error(path: Path) -> None:
    path.write_text(SAMPLE.replace("months = 24", "months = 0").replace("= 0.26", "= 26"))

    status, output, errors = run(path, "--json")
    assert (status, output) == (1, "")
    assert errors.splitlines() == [
        "offers.toml:3: use, months: is less than 1: it must be between 1 and 120 months",
        "offers.toml:10: use, marginal_tax_rate: is more than 1: it must be between 0 and 1",
    ]


def test_a_process_without_a_file_is_wrongly_used(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "manage.py", "compare_offers"],
        cwd=ROOT, env=environment(), capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
