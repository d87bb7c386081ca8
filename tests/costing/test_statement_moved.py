"""Why a lesson hour moved, as a page says it: true sentences of any two periods, and figures that add up."""

import re
from dataclasses import replace
from datetime import date
from random import Random

import pytest

from config.charts.marks import NARROW
from config.charts.pound import Part
from costing.core.records import Period
from costing.statement.core.burned import Burned
from costing.statement.core.moved import Moved, Spell, moved
from costing.statement.pictures.moved import shown
from costing.statement.pictures.reasons import more_or_less, reasons
from costing.statement.services.moved import Lacking, WhyMoved
from tests.core.costing.statement.spells import random_pair

AUGUST, OCTOBER = Period(date(2026, 8, 1), date(2026, 8, 31)), Period(date(2026, 10, 1), date(2026, 10, 31))
#: £6.19 a lesson hour in August, in 70 hours.
IN_AUGUST = Spell(
    {
        **{"depreciation": 11_000, "insurance": 7_700, "fuel": 16_500, "vehicle_tax": 2_000, "rental": 2_300},
        **{"cleaning": 600, "tyres": 2_600, "servicing": 2_400, "breakdown_cover": 500},
    },
    miles=1_200,
    private_miles=60,
    minutes=70 * 60,
    days=31,
    burned={"litre": Burned(16_500, 125_000)},
)


def sentences(before: Spell, after: Spell) -> list[str]:
    return [one.sentence for one in reasons(moved(before, after))]


def test_one_business_mile_is_one() -> None:
    fuel = {"by_category": {"fuel": 16_500}, "miles": 700, "private_miles": 0, "burned": {}}
    before = replace(IN_AUGUST, **fuel)
    after = replace(before, by_category={"fuel": 18_857}, miles=770, minutes=70 * 60)
    assert [one for one in sentences(before, after) if "1 more business mile." in one]


def pence_of(sentence: str) -> int:
    """What a sentence says, in pence."""
    found = re.search(r": (?:(\d+)p|£([\d,]+\.\d\d)) (more|less)|: (no change)", sentence)
    assert found, sentence
    if found[4]:
        return 0
    pence = int(found[1]) if found[1] else int(found[2].replace(",", "").replace(".", ""))
    return -pence if found[3] == "less" else pence


def why(found: Moved) -> WhyMoved:
    return WhyMoved(OCTOBER, AUGUST, found, ())


def test_the_largest_reason_comes_first_and_small_ones_come_together() -> None:
    assert sentences(IN_AUGUST, replace(IN_AUGUST, minutes=100 * 60, miles=1_700, private_miles=85)) == [
        "30 more lesson hours share what runs anyway: 96p less.",
        "Fuel: 67p less, a mile took 29% less fuel.",
        "Tyres: 11p less, 1.5p a mile instead of 2.2p.",
        "Servicing: 10p less, 1.4p a mile instead of 2p.",
        "Cleaning: 2p less, 5.7p of a lesson hour instead of 8.1p.",
    ]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"minutes": 69 * 60}, "What runs anyway is shared by 1 fewer lesson hour: 4p more."),
        ({"minutes": 71 * 60}, "1 more lesson hour shares what runs anyway: 5p less."),
        ({"minutes": 90 * 60, "days": 62}, "Fewer lesson hours a day share what runs anyway, 1.5 instead of 2.3: "),
        ({"days": 30}, "More lesson hours a day share what runs anyway: 11p less."),
        ({"private_miles": 0}, "All the miles were for lessons, 95 in 100 before: 17p more."),
        ({"private_miles": 0}, "Fuel: 12p more, a lesson hour took 0.9 more business miles."),
        ({"private_miles": 1_200}, "None of the miles were for lessons, 95 in 100 before: £3.27 less."),
        ({"private_miles": 63}, "94.8 in 100 miles were for lessons, 95.0 in 100 before: 1p less."),
    ],
)
def test_what_all_have_in_common_is_told_once(changed: dict, told: str) -> None:
    found = sentences(IN_AUGUST, replace(IN_AUGUST, **changed))
    assert [one for one in found if one.startswith(told)], found


def with_costs(**pence: int) -> Spell:
    return replace(IN_AUGUST, by_category=IN_AUGUST.by_category | pence)


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"insurance": 9_300}, "Insurance: 22p more, £3.00 a day instead of £2.48."),
        ({"fit_out": 3_100}, "Fit-out: 42p more, there was none before."),
        ({"cleaning": 1_300}, "Cleaning: 9p more, 17.6p of a lesson hour instead of 8.1p."),
        ({"repairs": 12_000}, "Repairs: £1.63 more, there were none before."),
        ({"mot": 5_000, "vehicle_tax": 2_100}, "Tax and MOT: 69p more, £2.29 a day instead of 64.5p."),
        ({"fit_out": 3_100, "parking_tolls": 900}, "Fit-out and other things: 54p more, £1.16 a day instead of 16.1p."),
        ({"tyres": 0}, "Tyres: 35p less, there were none this time."),
        ({"repairs": -6_000}, "Repairs: 82p less, refunds outweighed costs this time."),
        ({"depreciation": -6_000}, "Loss of value: £2.31 less, the car rose in value this time."),
        ({"insurance": 7_701}, ""),
    ],
)
def test_what_a_day_a_mile_or_an_hour_cost_is_told_by_its_name(changed: dict[str, int], told: str) -> None:
    assert sentences(IN_AUGUST, with_costs(**changed)) == ([told] if told else [])


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (30, 31, "Loss of value: 4p more, it did not run on every day before."),
        (31, 30, "Loss of value: 4p less, it did not run on every day this time."),
        (20, 25, "Loss of value: 20p more, it ran on more of the days."),
    ],
)
def test_a_loss_that_did_not_run_on_every_day_has_not_become_dearer(before: int, after: int, told: str) -> None:
    """At £3 a day: one more of its days is £3 in 70 hours, of which 95 in 100 are for lessons."""
    spells = [replace(with_costs(depreciation=300 * days), losing_days=days) for days in (before, after)]
    assert sentences(*spells) == [told]


@pytest.mark.parametrize(
    ("burned", "told"),
    [
        ({"litre": Burned(17_250, 125_000)}, "Fuel: 10p more, a litre cost 6p more."),
        ({"litre": Burned(15_000, 125_000)}, "Fuel: 20p less, a litre cost 12p less."),
        ({"litre": Burned(18_150, 137_500)}, "Fuel: 22p more, a mile took 10% more fuel."),
        ({"kwh": Burned(8_000, 400_000)}, "Fuel and charging: £1.15 less, there was no fuel this time."),
        (
            {"litre": Burned(16_500, 125_000), "kwh": Burned(2_000, 100_000)},
            "Fuel and charging: 27p more, there was no charge before.",
        ),
        ({}, "Fuel and charging: 46p more, 16.6p a mile instead of 13.8p."),
    ],
)
def test_fuel_is_told_by_its_price_or_by_how_much_a_mile_took(burned: dict, told: str) -> None:
    pence = sum(one.pence for one in burned.values()) or 19_900
    after = replace(IN_AUGUST, by_category=IN_AUGUST.by_category | {"fuel": pence}, burned=burned)
    assert sentences(IN_AUGUST, after) == [told]


def test_charge_alone_is_told_as_charge() -> None:
    before = replace(IN_AUGUST, by_category={"fuel": 8_000}, burned={"kwh": Burned(8_000, 400_000)})
    after = replace(before, by_category={"fuel": 10_000}, burned={"kwh": Burned(10_000, 400_000)})
    assert sentences(before, after) == ["Charge: 27p more, a kWh cost 5p more."]


def test_what_was_paid_back_is_said_where_more_of_it_makes_an_hour_cheaper() -> None:
    refund = replace(IN_AUGUST, by_category={"insurance": -70_000}, burned={})
    assert sentences(refund, replace(refund, minutes=60 * 60)) == [
        "What runs anyway is shared by 10 fewer lesson hours, where refunds outweigh costs: £1.58 less."
    ]


def test_pairs_of_any_kind_have_sentences_that_add_up_and_are_true() -> None:
    chance = Random(7)  # noqa: S311 - the same pairs every time
    told = 0
    for _ in range(4_000):
        before, after = random_pair(chance)
        found = moved(before, after)
        every = reasons(found)
        assert sum(one.pence for one in every) == found.change
        assert [pence_of(one.sentence) for one in every] == [one.pence for one in every]
        assert len(every) <= 6
        first = [abs(one.pence) for one in every[:3]]
        assert first == sorted(first, reverse=True)
        for one in every:
            told += check(one.sentence, before, after)
        change = shown(why(found))
        assert change.amount == (more_or_less(found.change) if found.change else "The same")
    assert told > 8_000


_HOURS = re.compile(r"([\d.,]+) more lesson hours? shares? |What runs anyway is shared by ([\d.,]+) fewer")
_OF_FUEL = re.compile(r": \S+ (more|less), (?:a litre|a kWh|a mile) (?:cost|took) \S+(?: %)? (more|less)")


def check(sentence: str, before: Spell, after: Spell) -> int:
    """Hold what a sentence claims against the two periods; 1 if it claimed anything."""
    if found := re.match(
        r"([\d.,]+) more lesson hours? shares? |What runs anyway is shared by ([\d.,]+) fewer", sentence
    ):
        count = float((found[1] or f"-{found[2]}").replace(",", ""))
        assert abs(count * 60 - (after.minutes - before.minutes)) <= 3.01
    elif found := re.match(r"(More|Fewer) lesson hours a day share what runs anyway", sentence):
        assert (after.hours / after.days > before.hours / before.days) is (found[1] == "More")
    elif found := re.match(r"(All the|None of the|[\d.]+ in 100) miles were for lessons, ", sentence):
        assert claimed(found[1], after)
        assert claimed(sentence[found.end() :].split(" before")[0], before)
    elif found := re.match(r"A little (more|less) of the miles was for lessons", sentence):
        assert (after.share > before.share) is (found[1] == "more")
    elif found := re.search(r"a lesson hour took ([\d.,]+|a few) (more|fewer) business miles", sentence):
        assert (after.miles_an_hour > before.miles_an_hour) is (found[2] == "more")
        if found[1] != "a few":
            difference = abs(after.miles_an_hour - before.miles_an_hour)
            assert abs(float(found[1].replace(",", "")) - float(difference)) <= 0.051
    elif found := re.search(r": \S+ (more|less), (\S+) (a day|a mile|of a lesson hour) instead of (\S+)\.$", sentence):
        assert (price(found[2]) > price(found[4])) is (found[1] == "more")
        if found[3] == "of a lesson hour":
            # On one footing with the sum before them, but for what each of the three is rounded by.
            assert abs(price(found[2]) - price(found[4]) - pence_of(sentence)) <= 3.01, sentence
    elif found := re.search(r"it (?:did not run on every day (before|this time)|ran on (more|fewer) of the)", sentence):
        parts = [(spell.losing_days or spell.days) / spell.days for spell in (before, after)]
        assert (parts[1] > parts[0]) is ((found[1] or found[2]) in {"before", "more"})
    elif found := re.search(
        r": \S+ (more|less), (?:a litre|a kWh|a mile) (?:cost|took) \S+(?: %)? (more|less)", sentence
    ):
        assert found[1] == found[2]
    else:
        return 0
    return 1


def negative(before: Spell, after: Spell) -> bool:
    return any(pence < 0 for spell in (before, after) for pence in spell.by_category.values())


def claimed(words: str, spell: Spell) -> bool:
    if words.split()[0].lower() in {"all", "none"}:
        return spell.share == (1 if words.lower().startswith("all") else 0)
    return abs(float(words.split()[0]) - float(spell.share * 100)) <= 0.5


def price(words: str) -> float:
    sign = -1 if words.startswith("−") else 1
    bare = words.lstrip("−")
    return sign * float(bare.strip("£p").replace(",", "")) * (100 if "£" in bare else 1)


def test_the_table_and_the_picture_add_up_to_the_change() -> None:
    chance = Random(9)  # noqa: S311 - the same pairs every time
    for _ in range(300):
        found = moved(*random_pair(chance))
        told = shown(why(found))
        price_, use, _, private, taught, together = (cell(one) for one in told.total)
        by_kind = [sum(e.pence for e in found.effects if e.factor.kind == kind) for kind in ("price", "use", "volume")]
        assert [price_, use + private, taught, together] == [*by_kind, found.change]
        for row in [told.total, *(row.cells for row in told.rows)]:
            assert cell(row[0]) + cell(row[1]) == cell(row[2])
            assert cell(row[2]) + cell(row[3]) + cell(row[4]) == cell(row[5])
        for index in range(6):
            assert sum(cell(row.cells[index]) for row in told.rows) == cell(told.total[index])
        if told.chart is None:
            assert not told.sentences
            continue
        # Each bar is one of the sentences, of the same sum.
        bars = told.chart.changes
        assert [bar.pence for bar in bars] == [pence_of(sentence) for sentence in told.sentences]
        assert sum(bar.pence for bar in bars) == found.change
        assert len({bar.words for bar in bars}) == len(bars)
        # One name, one figure: what a bar says by a name of the table, the table says too.
        named = {row.label.partition(":")[0]: cell(row.cells[2]) for row in told.rows}
        named |= {"Private miles": private, "Hours taught": taught}
        assert [bar for bar in bars if bar.pence != named.get(bar.words, bar.pence)] == []
        assert told.chart.draw(NARROW).title == told.chart.title


def cell(words: str) -> int:
    return 0 if words == "–" else round(price(words.lstrip("+")))


def test_sentence_and_bar_of_a_category_are_of_the_same_part_of_it() -> None:
    # A day cost a penny less, but fewer hours share it: that is told, and drawn, by itself.
    after = replace(with_costs(depreciation=10_900), minutes=68 * 60)
    told = shown(why(moved(IN_AUGUST, after)))
    assert told.chart is not None
    assert told.sentences[0] == "What runs anyway is shared by 2 fewer lesson hours: 9p more."
    assert "Loss of value: 1p less, £3.52 a day instead of £3.55." in told.sentences
    assert [bar for bar in told.chart.changes if bar.words in {"Hours taught", "Loss of value"}] == [
        Part("ink", "Hours taught", 9),
        Part("value", "Loss of value", -1),
    ]


def test_small_things_are_one_list_though_one_of_them_has_two_names() -> None:
    after = with_costs(repairs=100, servicing=2_900, insurance=9_300, rental=3_300, mot=1_000, depreciation=11_300)
    told = shown(why(moved(IN_AUGUST, after)))
    assert told.chart is not None
    assert told.sentences[-1] == "Service, repairs and loss of value: 12p more."
    assert told.chart.changes[-1] == Part("ink", "The rest", 12)


def test_a_period_without_a_car_on_all_days_says_so() -> None:
    year = Period(date(2024, 11, 1), date(2025, 10, 31))
    found = moved(replace(IN_AUGUST, days=153), replace(IN_AUGUST, days=20, minutes=60 * 60))
    told = shown(WhyMoved(OCTOBER, year, found, ()))
    assert told.in_service == [
        "Then you had a car in service on 153 of 365 days.",
        "In October you had a car in service on 20 of 31 days.",
    ]
    assert shown(why(moved(IN_AUGUST, IN_AUGUST))).in_service == []


@pytest.mark.parametrize(
    ("than", "words"),
    [
        (AUGUST, "than in August"),
        (Period(date(2025, 8, 1), date(2025, 8, 31)), "than in August 2025"),
        (Period(date(2024, 10, 1), date(2025, 9, 30)), "than in the 12 months to September 2025"),
        (Period(date(2025, 4, 6), date(2026, 4, 5)), "than in the tax year 2025 to 2026"),
        (Period(date(2026, 8, 3), date(2026, 8, 9)), "than in the 7 days to 9 August 2026"),
        (Period(date(2026, 8, 3), date(2026, 8, 3)), "than on 3 August 2026"),
    ],
)
def test_the_other_period_is_named(than: Period, words: str) -> None:
    found = moved(IN_AUGUST, with_costs(insurance=9_300))
    assert shown(WhyMoved(OCTOBER, than, found, ())).than == words


def test_the_picture_says_what_moved_most() -> None:
    told = shown(why(moved(IN_AUGUST, with_costs(insurance=9_300))))
    assert (told.amount, told.than) == ("22p more", "than in August")
    assert told.chart is not None
    assert told.chart.title == ("A lesson hour cost 22p more than in August; what moved most: insurance, 22p more")
    same = shown(why(moved(IN_AUGUST, IN_AUGUST)))
    assert (same.amount, same.than, same.sentences, same.chart) == ("The same", "as in August", [], None)


def test_without_a_figure_it_says_of_which_period_and_why() -> None:
    lacks = (
        Lacking(AUGUST, ("no odometer reading after 3 August", "no fill after 3 August")),
        Lacking(OCTOBER, ("no lessons",)),
    )
    told = shown(WhyMoved(OCTOBER, AUGUST, None, lacks))
    assert told.lacks == [
        "A lesson hour in August is not known: no odometer reading after 3 August; no fill after 3 August.",
        "A lesson hour in October is not known: no lessons.",
    ]
    assert not told.sentences
