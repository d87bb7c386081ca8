"""The script that asks without a signal doubts the same as the core, for the same reasons, with the same meanings."""

import random
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from playwright.sync_api import Browser

from config.asking import fill
from config.lean import lean
from costing.core import records
from costing.core.plausible import cost
from costing.core.plausible.running import DAY_FIELD, ROOMS, Running
from costing.wording.doubts import DOUBT_WORDS
from fleet.core.plausible.doubt import Doubt
from tests.core.costing.plausible.ordinary import TODAY, Typed, Year
from tests.core.costing.plausible.slips_made import slips

#: As browsers are sent it.
SCRIPT = lean((Path(settings.BASE_DIR) / "static" / "plausible.js").read_text(), "plausible.js")
KINDS = {"fill": "fill", "cost": "cost", "lessons": "week"}

COMPARE = """
(cases) => cases.map(({kind, typed, limits}) => book.doubts(kind, typed, limits).map((one) => [
    one.field, one.reason, one.key, one.may_be_right, Object.entries(one.figures).sort(),
    one.meanings.map((meant) => [meant.name, Object.entries(meant.changes)]),
]))
"""
FILL = "(cases) => cases.map(([template, figures, today]) => book.fill(template, figures, today))"


def as_told(doubt: Doubt) -> list[Any]:
    """A doubt as the script tells of it."""
    meanings = [[one.name, [[change.field, change.value] for change in one.changes]] for one in doubt.meanings]
    figures = [[name, figure] for name, figure in sorted(doubt.figures.items())]
    return [doubt.field, doubt.reason, doubt.key, doubt.may_be_right, figures, meanings]


def cases() -> list[dict[str, Any]]:
    """Entries of made-up years, each as it is, with the slips that may happen to it, and with figures at random."""
    chance, found = random.Random(7), []  # noqa: S311  # made-up figures
    for number, fuel in enumerate(("petrol", "diesel", "electric", "plugin_hybrid")):
        of_group = {"insurance": 950_00, "breakdown_cover": 50_00}
        known, before = Running(fuel, TODAY, of_group=of_group), {kind: list[Typed]() for kind in KINDS}
        for kind, right in Year(number, fuel).entries():
            known.today = date.fromisoformat(right[DAY_FIELD[kind]]) + timedelta(days=6 * (kind == "lessons"))
            if chance.random() < 0.12:
                wrong = [made.typed for made in slips(kind, right, before[kind])]
                tried = [right, *chance.sample(wrong, min(4, len(wrong))), spoilt(right, chance)]
                found += [{"kind": KINDS[kind], "typed": typed, "limits": known.limits(kind)} for typed in tried]
            known.add(kind, right)
            before[kind].append(right)
    return found


def awaited_cases() -> list[dict[str, Any]]:
    """Costs near payments that repeats make by themselves, in other sums and days, answered or not."""
    chance, found = random.Random(11), []  # noqa: S311  # made-up figures
    paid = [records.Cost(TODAY - timedelta(days=31 * n + 1), "insurance", 62_00) for n in range(1, 9)]
    for _ in range(150):
        awaited = [
            cost.Awaited(
                TODAY + timedelta(days=chance.randrange(-8, 8)), chance.choice(("insurance", "cleaning")), pence, ref
            )
            for ref, pence in (("first", 62_00), ("second", 9_00))
        ]
        typed = {
            **{"category": "insurance", "amount": chance.choice((62_00, 64_10, 641_00, 9_50)), "refund": ""},
            **{"paid_on": TODAY.isoformat(), "covers_from": None, "covers_to": None, "covers_miles": None},
            **{"in_place_of": chance.choice(("", "first", "second")), "refund": chance.choice(("", "", "", "on"))},
        }
        limits = cost.limits(paid, None, TODAY, {}, awaited=awaited)
        # How near is near, the script is told too.
        limits["awaited_within"] = chance.choice((3, limits["awaited_within"]))
        found.append({"kind": "cost", "typed": typed, "limits": limits})
    return found


def spoilt(right: Typed, chance: random.Random) -> Typed:
    """An entry with one figure that is anything, and one of its ticks the other way round."""
    ticks = {"refund": "on", "brimmed": "", "gap_before": "on", "how": "add", "leave_out": "on"}
    tick = chance.choice([name for name in ticks if name in right])
    field = chance.choice([name for name, value in right.items() if isinstance(value, int)])
    flipped = {tick: ticks[tick]} if chance.random() < 0.5 else {}
    return right | flipped | {field: chance.randrange(1, 10 ** chance.randrange(1, 7))}


def test_the_script_doubts_what_the_core_doubts(browser: Browser) -> None:
    tried = [*cases(), *awaited_cases()]
    expected = [[as_told(one) for one in ROOMS[case["kind"]].doubts(case["typed"], case["limits"])] for case in tried]
    page = browser.new_page()
    page.add_script_tag(content=SCRIPT)
    told = page.evaluate(COMPARE, tried)
    assert len(tried) > 500
    assert sum("awaited" in {one[1] for one in doubts} for doubts in expected) > 20
    assert sum(map(bool, expected)) > 250, "most of these are to be doubted"
    for case, wanted, found in zip(tried, expected, told, strict=True):
        assert found == wanted, case


def test_the_script_says_it_in_the_same_words(browser: Browser) -> None:
    figures: dict[str, int | str] = {
        **dict.fromkeys(
            ("miles", "usual", "last", "next", "price", "paid", "quantity", "amount", "most", "pence"), 1_234_560
        ),
        **dict.fromkeys(
            ("lessons", "days", "each", "private", "ran", "lesson_count", "private_miles", "covers_miles"), 12_345
        ),
        **dict.fromkeys(("since", "then", "day", "today", "latest", "until", "from", "first"), "2026-11-24"),
        **dict.fromkeys(("filled_on", "paid_on", "covers_from", "covers_to", "from_on", "to_on"), "2025-02-28"),
        **{f"day_{number}": 4 for number in range(7)},
        **{"minutes": 1_955, "hours": "32.5", "odometer": "41700", "category": "Vehicle tax"},
    }
    said = []
    for words in DOUBT_WORDS.values():
        for reason, template in words.items():
            typed = {"amount": "1590.5", "quantity": "36.28"} if reason.startswith("=") else {}
            for day in ("2026-11-24", "2026-11-20", "2026-02-01"):
                said.append((template, figures | typed, day))
    said += [("{a:low}", {"a": "MOT"}, "2026-11-24"), ("{a:pounds}, {a:pence}", {"a": 1_200}, "2026-11-24")]
    said += [("{a:about}", {"a": pence}, "2026-11-24") for pence in (7_50, 9_99, 10_49, 10_50, 1_036_80, 12_345_49)]
    said += [("{a:part}cover", {"a": days}, "2026-11-24") for days in (0, 1, 31, 365, 366, 1_095)]
    lasting = [("4:10", 179), ("1", 180), ("2.5", 60)]
    said += [("{a:taught}, {b:long}", {"a": typed, "b": minutes}, "2026-11-24") for typed, minutes in lasting]
    page = browser.new_page()
    page.add_script_tag(content=SCRIPT)
    assert page.evaluate(FILL, said) == [fill(words, told, date.fromisoformat(day)) for words, told, day in said]
