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
from tests.costing.offers_faults import CASES
from tests.costing.offers_sample import SAMPLE
from tests.processes import ROOT, environment

pytestmark = pytest.mark.django_db

ANSWER = ["offers", "verdicts", "cheapest", "cheapest_expected", "what_if", "switching", "odds", "odds_reason"]
OFFER = {
    *("name", "total", "told", "not_told", "assumed", "per_week", "per_mile", "per_lesson_hour", "up_front"),
    *("dearest_month", "hours_a_week_for_the_car", "apr", "quoted_apr", "present_value", "after_tax", "lowest_purse"),
    *("expected_total", "ways_out", "cash_flow", "breakdown"),
}
#: What isn't told of the first two offers, the rest of the sample as it stands.
UNTOLD = ("mot = 54.85\n", "servicing_per_year = 315.00\n", "damage = 420.00\n")

#: Two offers of few and round sums. Bought costs 1,200.00 over the year, rented 1,300.00.
PLAIN = """\
[use]
starts_on = 2027-05-01
months = 12
miles_per_year = 10000
private_miles_per_year = 2500
lesson_hours_per_week = 20
weeks_taught_per_year = 40
lesson_hour_price = 40.00
discount_rate = 0.0
marginal_tax_rate = 0.2
cash_in_hand = 3000.00
put_by_per_month = 100.00
leaving = [{ month = 6, chance = 0.5 }]

[[offer]]
name = "Bought"
kind = "owned"
price = 3000.00
value_at_horizon = 2400.00
includes = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out"]
  [offer.running]
  fuel_pence_per_mile = 6.0

[[offer]]
name = "Rented"
kind = "weekly_rental"
payment = 25.00
payments = 26
frequency = "week"
damage = 0.00
includes = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out", "fuel"]

[[what_if]]
name = "Ill for a month"
weeks_off = { from_week = 10, weeks = 4 }
"""


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


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """The command as a process of its own."""
    return subprocess.run(
        [sys.executable, "manage.py", "compare_offers", *arguments],
        cwd=ROOT, env=environment(), capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip


def without(*lines: str) -> str:
    text = SAMPLE
    for line in lines:
        assert line in text
        text = text.replace(line, "", 1)
    return text


# --- The JSON object --------------------------------------------------------------------------------------


def test_every_figure_of_an_offer_is_given_as_the_formats_say(path: Path) -> None:
    path.write_text(PLAIN)
    found = answer(path)

    bought, rented = found["offers"]
    # After six months half of the fuel is burned, and the car fetches 3,000.00 x 0.8 ^ 0.5 = 2,683.28.
    assert bought.pop("cash_flow") == ["3000.00", *["50.00"] * 11, "-2350.00"]
    assert bought == {
        "name": "Bought",
        "total": "1200.00",
        "told": "1200.00",
        "not_told": [],
        "assumed": ["value_now"],
        "per_week": "23.08",
        "per_mile": "0.12",
        "per_lesson_hour": "1.50",
        "up_front": "3000.00",
        "dearest_month": {"month": 0, "amount": "3000.00"},
        "hours_a_week_for_the_car": "0.75",
        "apr": None,
        "quoted_apr": None,
        "present_value": "1200.00",
        "after_tax": "1020.00",  # three miles in four are for lessons, and a fifth of that is relieved
        "lowest_purse": {"month": 0, "amount": "0.00"},
        "expected_total": "908.36",  # half of 1,200.00 and half of 616.72
        "ways_out": [{"way": "sell", "amount": "-2400.00", "reason": None, "taken": True}],
        "breakdown": {"price": "3000.00", "fuel": "600.00", "value_back": "-2400.00"},
    }
    assert (rented["total"], rented["assumed"]) == ("1300.00", ["mileage_allowance"])
    assert rented["ways_out"] == [{"way": "hand_back", "amount": "0.00", "reason": None, "taken": True}]
    assert [one["expected_total"] for one in found["offers"]] == ["908.36", "975.00"]
    assert (found["cheapest"], found["cheapest_expected"]) == ("Bought", "Bought")


def test_what_happens_stands_beside_the_plan_with_the_takings_lost(path: Path) -> None:
    path.write_text(PLAIN)

    assert answer(path)["what_if"] == [
        {
            "name": "Ill for a month",
            "takings_lost": "3200.00",  # 4 weeks of 20 hours
            "cheapest": "Bought",
            "offers": [
                {"name": "Bought", "total": "1140.00", "change": "-60.00", "way_out": "sell"},  # a tenth of the fuel
                {"name": "Rented", "total": "1300.00", "change": "0.00", "way_out": "hand_back"},
            ],
        }
    ]


def test_a_verdict_and_what_would_change_it_have_their_keys(path: Path) -> None:
    path.write_text(PLAIN)
    found = answer(path)

    assert found["verdicts"] == [
        {
            "a": "Bought",
            "b": "Rented",
            "cheaper": "Bought",
            "settled": True,
            "room": None,
            "room_of": None,
            "of": [],
            "if_same": [],
        }
    ]
    switching = {one["input"]: one for one in found["switching"]}
    assert switching["value_at_horizon"] == {
        "cheaper": "Bought",
        "than": "Rented",
        "input": "value_at_horizon",
        "offer": "Bought",
        "base": "2400.00",
        "value": "2300.00",
        "low": "0.00",
        "high": "7200.00",
    }
    fuel = switching["fuel_pence_per_mile"]
    assert (fuel["offer"], fuel["base"], fuel["value"], fuel["low"], fuel["high"]) == ("Bought", "6", "7", "0", "18")
    assert switching["weeks_off"]["value"] is None
    assert (switching["weeks_off"]["base"], switching["weeks_off"]["high"]) == (0, 26)
    months = switching["months"]
    assert (months["base"], months["low"], months["high"]) == (12, 0, 36)
    assert months["value"] is None


def test_the_odds_are_shares_of_one_and_the_same_every_time(path: Path) -> None:
    first, second = answer(path), answer(path)

    assert first == second
    assert first["odds_reason"] is None
    assert sum(Decimal(one["cheapest"]) for one in first["odds"]) == 1
    for one in first["odds"]:
        assert list(one) == ["name", "cheapest", "mean", "low", "middle", "high"]
        assert Decimal(one["low"]) <= Decimal(one["middle"]) <= Decimal(one["high"])


def test_each_offer_adds_up_and_has_every_key(path: Path) -> None:
    found = answer(path)

    assert list(found) == ANSWER
    for offer in found["offers"]:
        assert offer.keys() == OFFER
        assert sum(map(Decimal, offer["cash_flow"])) == sum(map(Decimal, offer["breakdown"].values()))
        assert sum(map(Decimal, offer["cash_flow"])) == Decimal(offer["total"]) == Decimal(offer["told"])
        assert offer["up_front"] == offer["cash_flow"][0]
    assert [(offer["apr"], offer["quoted_apr"]) for offer in found["offers"]] == [
        ("4.8", "5.9"),
        (None, None),
        (None, None),
    ]
    assert {one["value"] is None for one in found["switching"]} == {True, False}
    assert all("E" not in str(one["value"]) for one in found["switching"])


def test_what_is_not_told_has_no_total_and_is_named(path: Path) -> None:
    path.write_text(without(*UNTOLD))
    found = answer(path)

    pcp, hire, estate = found["offers"]
    assert [one["not_told"] for one in found["offers"]] == [
        ["mot", "servicing"],
        ["mot", "damage"],
        ["mot", "servicing"],
    ]
    for offer in (pcp, hire, estate):
        assert offer["total"] is offer["per_week"] is offer["present_value"] is offer["expected_total"] is None
        assert sum(map(Decimal, offer["cash_flow"])) == Decimal(offer["told"])
    assert hire["ways_out"][0]["amount"] is None
    assert hire["ways_out"][0]["reason"]
    assert (found["odds"], found["cheapest"], found["cheapest_expected"]) == (None, None, None)
    assert "is told" in found["odds_reason"]
    both = next(one for one in found["verdicts"] if {one["a"], one["b"]} == {"Estate", pcp["name"]})
    # The PCP is tested once in the three years and the estate three times: only servicing is the same for both.
    assert both["if_same"] == ["servicing"]
    assert both["of"] == ["mot"]


# --- The table --------------------------------------------------------------------------------------------


def test_the_table_says_what_each_costs_who_is_cheaper_and_what_would_change_it(path: Path) -> None:
    path.write_text(PLAIN)

    lines = called(path).splitlines()
    assert lines[0] == "Over 12 months from 1 May 2027"
    assert lines[4].split() == ["Bought", *["£1,200.00"] * 2, "£908.36", "£23.08", "£1.50", "£3,000.00", "0.75"]
    assert "Bought is cheaper than Rented." in lines
    assert "If: Ill for a month" in lines
    assert "Takings lost beside that: £3,200.00" in lines
    assert any(line.split()[:3] == ["Bought", "Rented", "value_at_horizon"] for line in lines)
    assert "Over 10,000 draws of what is uncertain" in lines
    assert lines[-1] == (
        "Without a range, so the same in every draw: value_at_horizon of Bought, payment of Rented, miles_per_year and "
        "fuel_pence_per_mile of Bought."
    )


def test_a_single_offer_without_ranges_is_only_worked_out(path: Path) -> None:
    text = PLAIN.replace("leaving = [{ month = 6, chance = 0.5 }]\n", "")
    path.write_text(text.partition('[[offer]]\nname = "Rented"')[0])

    lines = called(path).splitlines()
    assert "Where the cheaper of two changes" not in lines
    assert lines[-1] == "No odds: no figure has a range, and there are no chances of leaving."


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("price = 3000.00", "price = 3100.00", "Bought and Rented cost the same."),
        (
            "  [offer.running]\n  fuel_pence_per_mile = 6.0\n",
            "",
            "Bought is cheaper than Rented as long as its fuel stays below £700.00 over the 12 months.",
        ),
        (
            'repairs", "tyres", "fit_out"]\n  [offer.running]\n  fuel_pence_per_mile = 6.0\n',
            'repairs"]\n',
            "Bought is cheaper than Rented as long as its tyres, the fit-out for tuition and fuel together stay below "
            "£700.00 over the 12 months.",
        ),
        (
            "value_at_horizon = 2400.00\n",
            "",
            "Bought is cheaper than Rented as long as its car fetches more than £2,300.00.",
        ),
        (
            "  [offer.running]\n  fuel_pence_per_mile = 6.0\n",
            "  [offer.running]\n  repairs_per_year = 1.0\n",
            "Bought is cheaper than Rented as long as its fuel stays below £700.00 over the 12 months.",
        ),
        (
            '"repairs", "tyres", "fit_out"]\n  [offer.running]\n',
            '"tyres", "fit_out"]\n  [offer.running]\n',
            "Bought is cheaper than Rented as long as its repairs stay below £100.00 over the 12 months.",
        ),
        (
            "price = 3000.00\nvalue_at_horizon = 2400.00\n",
            "price = 300.00\n",
            "Bought is cheaper than Rented, whatever is not told.",
        ),
        (
            "  [offer.running]\n  fuel_pence_per_mile = 6.0\n",
            "  [offer.running]\n",
            "Bought is cheaper than Rented as long as its fuel stays below £700.00 over the 12 months.",
        ),
    ],
)
def test_what_can_be_said_of_two_offers_is_said_in_a_sentence(path: Path, old: str, new: str, sentence: str) -> None:
    assert old in PLAIN
    path.write_text(PLAIN.replace(old, new, 1))

    assert sentence in called(path).splitlines()


@pytest.mark.parametrize(("told", "shown"), [("7", "7.0"), ("7.0", "7.0"), ("14.95", "14.95"), ("10", "10.0")])
def test_a_quoted_apr_has_a_decimal(path: Path, told: str, shown: str) -> None:
    path.write_text(SAMPLE.replace("quoted_apr = 5.9", f"quoted_apr = {told}"))
    assert answer(path)["offers"][0]["quoted_apr"] == shown


def test_what_must_cost_both_the_same_is_said(path: Path) -> None:
    text = PLAIN.replace(', "fuel"]', "]").replace("  [offer.running]\n  fuel_pence_per_mile = 6.0\n", "")
    path.write_text(text)

    lines = called(path).splitlines()
    assert "Bought is cheaper than Rented if fuel costs the same for both." in lines
    assert "Not told of Bought: fuel." in lines

    unsold = (
        text.replace("value_at_horizon = 2400.00\n", "")
        .replace('"repairs", ', "", 1)
        .replace("= 3000.00\nincludes", "= 900.00\nincludes")
    )
    path.write_text(unsold)
    assert "worth nothing, if fuel costs the same for both." in called(path)

    path.write_text(PLAIN.replace('"repairs", ', ""))
    assert "Bought is cheaper than Rented if repairs cost the same for both." in called(path).splitlines()


def test_where_nothing_can_be_said_it_says_on_what_it_hangs(path: Path) -> None:
    text = PLAIN.replace("value_at_horizon = 2400.00\n", "").replace("damage = 0.00\n", "")
    path.write_text(text.replace("price = 3000.00", "price = 900.00").replace("payment = 25.00", "payment = 5.00"))

    lines = called(path).splitlines()
    assert "Which of Bought and Rented is cheaper hangs on what the car fetches and damage when it goes back." in lines


# --- How it leaves ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_what_is_wrong_with_a_file_is_refused_with_its_reason(path: Path, name: str) -> None:
    path.write_text(CASES[name].text)

    with pytest.raises(DataSaysNo) as refused:
        called(path, "--json")
    assert refused.value.returncode == 1
    assert CASES[name].words in str(refused.value)


def test_a_process_leaves_with_nothing_but_its_answer(path: Path) -> None:
    done = run(str(path), "--json")

    assert (done.returncode, done.stderr) == (0, "")
    assert list(json.loads(done.stdout)) == ANSWER


def test_a_process_leaves_with_the_reasons_on_standard_error(path: Path) -> None:
    path.write_text(SAMPLE.replace("months = 36", "months = 0").replace("= 0.28", "= 28"))

    done = run(str(path), "--json")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.splitlines() == [
        "offers.toml:3: use, months: is less than 1: it must be between 1 and 120 months",
        "offers.toml:10: use, marginal_tax_rate: is more than 1: it must be between 0 and 1",
    ]


def test_a_process_without_a_file_is_wrongly_used() -> None:
    done = run()

    assert done.returncode == 2
    assert "Traceback" not in done.stderr
