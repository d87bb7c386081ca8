"""Every row of the catalogue has its figure, and the slow roads know it: a half-added one fails here."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from costing.choosing.core.case import Fuel, Offer, Running
from costing.core.catalogue.agreements import AGREEMENT_KINDS, CAR_SUMS, OFFER_TERMS, AgreementKind
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES, CostCategory, CostGroup
from costing.core.catalogue.running import AS_ASKED, AS_PAID, RUNNING_PARTS, RunningPart, When, are_many
from costing.core.records import Agreement, CarBook, Cost, Period, Reading, Service
from costing.core.running_cost import running_cost
from tests.core.costing.choosing.by_hand import ByHand
from tests.core.costing.choosing.cases import ALL, SAMPLE_OF, UNTOLD, case, one, worked_out
from tests.core.costing.day_by_day import DayByDay

PERIOD = Period(date(2026, 2, 1), date(2026, 3, 31))
RATE = Decimal("0.15")
KIND = pytest.mark.parametrize("kind", AGREEMENT_KINDS.values(), ids=AGREEMENT_KINDS)
PART = pytest.mark.parametrize("part", RUNNING_PARTS.values(), ids=RUNNING_PARTS)
CATEGORY = pytest.mark.parametrize("category", ENTRY_CATEGORIES, ids=lambda category: category.name)


def true_cost(book: CarBook) -> dict[str, int]:
    """By category, the core's and the slow road's found to be the same."""
    found = running_cost(book, PERIOD, depreciation_rate=RATE).by_category
    assert found == DayByDay(book, PERIOD, RATE).by_category()
    return found


def told_alone(part: RunningPart) -> Running:
    """A table in which this part alone is told."""
    figures: dict[When, Any] = {When.PREMIUMS: (910_25,), When.BY_MILE: (Fuel(Fraction("12.3")),)}
    life = {part.life_key: Fraction(25_000)} if part.life_key else {}
    return UNTOLD._replace(**{part.field: figures.get(part.when, 123_45)}, **life)


# --- Kinds of agreement and offer -------------------------------------------------------------------------


@KIND
def test_an_agreement_is_charged_as_the_slow_road_has_it(kind: AgreementKind) -> None:
    held = Agreement(
        date(2026, 1, 10), kind.name, 1_180_000, 120_000, 18_900, 72, kind.usual_frequency, 540_000, 15_000
    )
    found = true_cost(CarBook(Service(date(2026, 1, 10), None), agreements=(held,)))
    charged = {"interest"} if kind.is_credit else {"rental"} if kind.is_hire else set()
    assert set(found) == charged | ({"depreciation"} if kind.becomes_own else set())


@KIND
def test_an_offer_costs_what_the_slow_road_says(kind: AgreementKind) -> None:
    made = case(SAMPLE_OF[kind.name]._replace(includes=ALL))
    [found] = worked_out(made)
    slow = ByHand(made, *made.offers)
    assert (list(found.flow.months), found.way_out) == (slow.months, slow.way)
    assert found.flow.parts.keys() <= CAR_SUMS.keys()


@KIND
def test_a_kind_needs_may_have_or_refuses_every_term(kind: AgreementKind) -> None:
    asked = [name for place in dict.fromkeys(term.place for term in OFFER_TERMS) for name in kind.asks(place)]
    assert sorted(asked) == sorted({*kind.needed_when_offered, *kind.may_have})
    assert sorted([*asked, *kind.refuses]) == sorted(term.name for term in OFFER_TERMS)
    assert (kind.instalments is not None) == ("payment" in kind.needs)
    assert kind.is_hire == (kind.then is not None)


def test_each_place_asks_its_own_terms_in_their_order() -> None:
    pcp = AGREEMENT_KINDS["pcp"]
    assert pcp.asks("car") == ("first_registered", "value_now", "value_at_horizon")
    assert pcp.asks("leaving") == ("at_end", "on_leaving", "half_rule")
    assert AGREEMENT_KINDS["owned"].asks("quote") == ("price",)


def test_every_term_is_a_field_of_an_offer() -> None:
    assert {term.name for term in OFFER_TERMS} == {*Offer._fields} - {"name", "kind", "running"}


def test_every_sum_for_the_car_comes_up_in_some_offer() -> None:
    hire = SAMPLE_OF["contract_hire"]._replace(deposit_comes_back=True)
    half = SAMPLE_OF["hire_purchase"]._replace(on_leaving="half_rule", value_at_horizon=0)
    offers = (*SAMPLE_OF.values(), hire, half)
    found = {name for months in (9, 50) for one in worked_out(case(*offers, months=months)) for name in one.flow.parts}
    assert {*CAR_SUMS} <= found


def test_only_a_pcp_leaves_a_choice_at_its_end_and_needs_its_final_payment() -> None:
    assert [kind.name for kind in AGREEMENT_KINDS.values() if kind.has_choice_of_end] == ["pcp"]
    needed = [kind.name for kind in AGREEMENT_KINDS.values() if "final_payment" in kind.needed_when_offered]
    assert needed == ["pcp"]


def test_an_agreement_with_payments_needs_their_frequency_too() -> None:
    needed = {name: AGREEMENT_KINDS[name].needed_when_recorded for name in ("owned", "pcp", "weekly_rental")}
    assert needed == {
        "owned": ("price",),
        "pcp": ("price", "payment", "payments", "frequency"),
        "weekly_rental": ("payment", "payments", "frequency"),
    }


def test_only_leaving_a_car_brings_what_it_fetches_and_what_is_asked_for_it_then() -> None:
    of_end = [one.name for one in CAR_SUMS.values() if one.is_of_end]
    assert of_end == [
        *("settlement", "half_rule", "excess_miles", "damage", "early_exit"),
        *("value_back", "given_back", "deposit_back"),
    ]


# --- Running costs ----------------------------------------------------------------------------------------


@PART
def test_a_part_costs_what_the_slow_road_says_unless_it_is_included(part: RunningPart) -> None:
    others = ALL - {part.name}
    for includes in (others, ALL):
        made = case(SAMPLE_OF["owned"]._replace(includes=includes), running=told_alone(part))
        [found] = worked_out(made)
        assert list(found.flow.months) == ByHand(made, *made.offers).months
        assert (part.name in found.flow.parts) == (includes is others)


def test_what_goes_by_miles_grows_with_them_and_nothing_else_does() -> None:
    for part in AS_ASKED:
        few, many = (
            one(SAMPLE_OF["owned"], told_alone(part), miles_per_year=Fraction(miles)).flow.parts[part.name]
            for miles in (10_000, 30_000)
        )
        assert (few != many) is (part.when in {When.BY_SET, When.BY_MILE}), part.name


def test_a_part_rests_on_fields_of_the_table_of_running_costs() -> None:
    fields = [field for part in AS_ASKED for field in part.fields]
    assert sorted(fields) == sorted(Running._fields)


def test_both_orders_have_every_part_once() -> None:
    names = sorted(RUNNING_PARTS)
    assert sorted(part.name for part in AS_PAID) == sorted(part.name for part in AS_ASKED) == names
    assert len({part.category.name for part in AS_ASKED}) == len({part.key for part in AS_ASKED}) == len(names)


# --- Cost categories --------------------------------------------------------------------------------------


@CATEGORY
def test_a_cost_is_charged_as_the_slow_road_has_it(category: CostCategory) -> None:
    covered: dict[str, Any] = {}
    if category.covers == "days":
        covered = {"covers_from": date(2026, 1, 20), "covers_to": date(2026, 12, 31)}
    elif category.covers == "miles":
        covered = {"covers_miles": 20_000}
    cost = Cost(date(2026, 2, 10), category.name, 8_640, **covered)
    readings = (Reading(date(2026, 1, 10), 10_000), Reading(date(2026, 3, 31), 14_000))
    found = true_cost(CarBook(Service(date(2026, 1, 10), None), readings=readings, costs=(cost,)))
    assert (category.name in found) is not category.is_instalment
    assert category.is_instalment or bool(covered) is (found[category.name] < 8_640)


def test_what_is_worked_out_is_no_category_to_log_under() -> None:
    worked_out = [category.name for category in COST_CATEGORIES.values() if not category.is_entry]
    assert worked_out == ["fuel", "interest", "depreciation"]


def test_a_part_of_the_true_cost_is_called_as_its_entries_are_but_for_rental() -> None:
    labels = {category.name: category.label for category in COST_CATEGORIES.values()}
    words = {category.name: category.words for category in COST_CATEGORIES.values()}
    assert [name for name in labels if labels[name] != words[name]] == ["rental"]
    assert labels["rental"] == COST_CATEGORIES["rental"].component_words


def test_a_part_is_ticked_by_its_words_unless_it_has_others_for_that() -> None:
    assert RUNNING_PARTS["servicing"].as_included == RUNNING_PARTS["servicing"].words
    assert RUNNING_PARTS["fuel"].as_included == RUNNING_PARTS["fuel"].included_words


def test_a_group_of_costs_is_spoken_of_without_commas() -> None:
    spoken = [group.spoken for group in CostGroup]
    assert spoken[:4] == ["Loss of value", "Fuel and charge", "Finance and hire", "Insurance"]
    assert not any("," in words for words in spoken)


@pytest.mark.parametrize(
    ("names", "is_plural"),
    [(["repairs"], True), (["tyres"], True), (["insurance"], False), (["value"], False), (["mot", "fuel"], True)],
)
def test_a_verb_after_parts_is_plural_where_they_are_many(names: list[str], is_plural: bool) -> None:
    assert are_many(names) is is_plural


def test_a_group_of_two_is_spoken_of_as_one() -> None:
    assert CostGroup.TAX.spoken == "Tax and MOT"
    assert CostGroup.TYRES.spoken == "Tyres"
    assert CostGroup.TYRES.is_of_one
    assert not CostGroup.TAX.is_of_one
