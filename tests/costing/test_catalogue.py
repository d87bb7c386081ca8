"""Every row of the catalogue goes through the pages, the offers file and the archive: a half-added one fails here."""

import ast
import json
import re
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from config.look.tokens import TONES
from config.showing import pence_as_pounds
from costing.archive.dumping import dump
from costing.choosing.core.case import Running
from costing.choosing.core.figures import compare
from costing.choosing.document import schema as keys
from costing.choosing.document.toml import file_of, read_file
from costing.choosing.forms.offer_steps import STEPS
from costing.choosing.services.accepting import agreement_fields
from costing.choosing.services.stored import document_of, tables_of, terms_of, to_json
from costing.core.catalogue.agreements import AGREEMENT_KINDS, OFFER_TERMS, AgreementKind
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES, CostCategory, CostGroup
from costing.core.catalogue.running import RUNNING_PARTS, RunningPart, When
from costing.core.group import RUNNING_STEPS
from costing.models import Agreement, CostEntry, GroupFigure, Offer
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from instructors.models import Member
from tests.core.costing.choosing.cases import SAMPLE_OF
from tests.costing.comparison_pages import comparison_of
from tests.costing.offered import RUNNING, add_offers
from tests.costing.pages import cost_data, shown
from tests.costing.test_archive_dump import reloaded
from tests.factories import CooperativeFactory, OfferFactory
from tests.processes import ROOT

pytestmark = pytest.mark.usefixtures("today")

KIND = pytest.mark.parametrize("kind", AGREEMENT_KINDS.values(), ids=AGREEMENT_KINDS)
PART = pytest.mark.parametrize("part", RUNNING_PARTS.values(), ids=RUNNING_PARTS)
CATEGORY = pytest.mark.parametrize("category", ENTRY_CATEGORIES, ids=lambda category: category.name)


def test_the_database_knows_every_row(db: None) -> None:
    """Choices, checks and lengths are made from the rows, so a row without its migration is found by Django."""
    call_command("makemigrations", check=True, dry_run=True, stdout=StringIO())


# --- Kinds of agreement and offer -------------------------------------------------------------------------


def terms(kind: str) -> dict[str, Any]:
    """Complete terms of an offer of this kind as they are stored."""
    return to_json({name: value for name, value in SAMPLE_OF[kind].items() if name not in {"name", "kind"}})


def typed(kind: AgreementKind) -> dict[str, Any]:
    """Complete terms of an offer of this kind as a member types them."""
    told = {"frequency": kind.usual_frequency, "at_end": "sell"} | terms(kind.name)
    if rule := told.pop("early_exit", None):
        share = rule["kind"] == "share_of_remaining"
        told |= {"early_exit_kind": rule["kind"], "early_exit_value": "50" if share else rule["value"]}
    return told


@KIND
def test_an_offer_is_told_step_by_step_and_compared(
    everyone: dict[str, Client], keeper: Member, kind: AgreementKind
) -> None:
    comparison = comparison_of(keeper, running=RUNNING)
    begun = {"kind": kind.name, "name": "This one"}
    assert everyone["keeper"].post(reverse("costing:offer-add", args=[comparison.pk]), begun).status_code == 303
    offer = Offer.objects.get()
    for step in STEPS:
        asked = {name: value for name, value in typed(kind).items() if name in step.asks(kind.name)}
        sent = asked | ({"name": "This one"} if step is STEPS[0] else {})
        page = reverse("costing:offer-terms", args=[offer.pk, step.name])
        assert everyone["keeper"].post(page, sent).status_code == 303, step.name
    offer.refresh_from_db()
    assert offer.is_complete
    other = comparison_of(keeper)
    told = OfferFactory.create(comparison=other, kind=kind.name, name="This one", terms=terms(kind.name))
    assert terms_of(offer) == terms_of(told)._replace(frequency=kind.usual_frequency)
    [figures] = compare(document_of(comparison).case).figures
    assert pence_as_pounds(figures.total) in shown(
        everyone["keeper"], reverse("costing:comparison", args=[comparison.pk])
    )
    assert f"This one {kind.words} " in shown(everyone["keeper"], page)
    assert kind.explanation in shown(everyone["keeper"], reverse("costing:offer-add", args=[comparison.pk]))


def test_every_term_and_every_running_cost_is_a_key_of_the_file() -> None:
    assert {key.name for key in keys.OFFER} == {"name", "kind", *(term.name for term in OFFER_TERMS)}
    of_parts = {key for part in RUNNING_PARTS.values() for key in (part.key, part.life_key) if key}
    assert {key.name for key in keys.RUNNING} == of_parts == {*Running._fields} - {"one_repair"}


@KIND
def test_an_offer_comes_back_from_its_file(keeper: Member, kind: AgreementKind, tmp_path: Path) -> None:
    comparison = comparison_of(keeper, running=RUNNING)
    add_offers(comparison, (kind.name, "This one", terms(kind.name)))
    file = tmp_path / "offers.toml"
    file.write_text(file_of(tables_of(comparison)))
    assert read_file(file, nation="GB") == document_of(comparison)


@KIND
def test_an_accepted_offer_is_an_agreement_that_pages_and_archive_have(
    everyone: dict[str, Client], car: Car, kind: AgreementKind, tmp_path: Path
) -> None:
    comparison = comparison_of(car.keeper, running=RUNNING)
    add_offers(comparison, (kind.name, "This one", terms(kind.name)))
    [offer] = document_of(comparison).case.offers
    sent = {name: value for name, value in agreement_fields(offer).items() if value is not None}
    page = reverse("costing:agreement-add", args=[car.registration])
    assert everyone["keeper"].post(page, sent | {"starts_on": "2026-03-01"}).status_code == 303
    comparison.delete()
    held = Agreement.objects.values(*sent).get()
    files = dump().files
    assert reloaded(files, tmp_path) == files
    assert Agreement.objects.values(*sent).get() == held
    assert held["kind"] == kind.name


@KIND
def test_an_agreement_without_a_term_that_it_needs_is_refused(
    everyone: dict[str, Client], car: Car, kind: AgreementKind
) -> None:
    page = reverse("costing:agreement-add", args=[car.registration])
    bare = {"kind": kind.name, "starts_on": "2026-03-01", "frequency": kind.usual_frequency}
    form = everyone["keeper"].post(page, bare).context["form"]
    assert {*kind.needs} <= form.errors.keys()


# --- The nation ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("nation", "age", "tests"), [("GB", "three", 2), ("NI", "four", 1)])
def test_the_first_mot_falls_as_in_the_nation_of_the_co_op(
    everyone: dict[str, Client], keeper: Member, nation: str, age: str, tests: int, tmp_path: Path
) -> None:
    CooperativeFactory.create(nation=nation)
    comparison = comparison_of(keeper, running={"mot": "50.00"})
    # Over two years from May 2026 the car turns three, then four.
    add_offers(comparison, ("owned", "This one", terms("owned") | {"first_registered": "2024-01-01"}))
    case = document_of(comparison).case
    assert compare(case).figures[0].flow.parts["mot"] == tests * 50_00
    text = shown(everyone["keeper"], reverse("costing:comparison", args=[comparison.pk]))
    assert f"£50.00 each, once the car is {age} years old" in text
    asked = shown(everyone["keeper"], reverse("costing:comparison-running", args=[comparison.pk]))
    assert f"We count it once the car is {age} years old." in asked
    file = tmp_path / "offers.toml"
    file.write_text(file_of(tables_of(comparison)))
    out = StringIO()
    call_command("compare_offers", str(file), "--json", stdout=out)
    assert json.loads(out.getvalue())["offers"][0]["breakdown"]["mot"] == f"{tests * 50}.00"


# --- Running costs ----------------------------------------------------------------------------------------


@PART
def test_a_part_is_asked_counted_named_and_kept(
    everyone: dict[str, Client], keeper: Member, part: RunningPart, tmp_path: Path
) -> None:
    comparison = comparison_of(keeper, running={})
    add_offers(comparison, ("owned", "This one", terms("owned")))
    page = reverse("costing:comparison", args=[comparison.pk])
    not_told = f"{part.missing[:1].upper()}{part.missing[1:]}"
    assert not_told in shown(everyone["keeper"], page)
    field = f"{part.key}_1" if part.when is When.PREMIUMS else part.key
    asked = reverse("costing:comparison-running", args=[comparison.pk])
    assert part.question in shown(everyone["keeper"], asked)
    assert everyone["keeper"].post(asked, {field: "17.50"}).status_code == 303
    text = shown(everyone["keeper"], page)
    assert "17.5" in text
    assert part.words in text
    comparison.refresh_from_db()
    file = tmp_path / "offers.toml"
    file.write_text(file_of(tables_of(comparison)))
    assert read_file(file, nation="GB") == document_of(comparison)


@PART
def test_a_part_may_be_included_in_an_offer(everyone: dict[str, Client], keeper: Member, part: RunningPart) -> None:
    offer = OfferFactory.create(comparison=comparison_of(keeper), kind="owned", terms=terms("owned"))
    step = reverse("costing:offer-terms", args=[offer.pk, "included"])
    assert part.as_included in shown(everyone["keeper"], step)
    assert everyone["keeper"].post(step, {"includes": [part.name]}).status_code == 303
    offer.refresh_from_db()
    assert offer.terms["includes"] == [part.name]


def test_the_group_keeps_each_median_that_a_row_asks_for() -> None:
    assert RUNNING_STEPS.keys() <= {field.name for field in GroupFigure._meta.get_fields()}


# --- Cost categories --------------------------------------------------------------------------------------


@CATEGORY
def test_a_cost_is_logged_shown_and_kept(
    everyone: dict[str, Client], car: Car, category: CostCategory, tmp_path: Path
) -> None:
    covers = {
        "days": {"covers_from": "2026-03-01", "covers_to": "2027-02-28", "tuition": "yes"},
        "miles": {"covers_miles": "1000"},
        "": {},
    }[category.covers]
    sent = cost_data(car, category=category.name, amount="3650", **covers)
    assert everyone["keeper"].post(reverse("costing:cost-log"), sent).status_code == 303
    assert category.words in shown(everyone["keeper"], reverse("costing:entries"))
    month = f"{reverse('costing:car-cost', args=[car.registration])}?first=2026-03-01&last=2026-03-16"
    is_charged = not category.is_instalment and category.covers != "miles"
    assert (f"{category.label} {category.source}" in shown(everyone["keeper"], month)) is is_charged
    files = dump().files
    assert reloaded(files, tmp_path) == files
    assert CostEntry.objects.get().category == category.name


def test_every_group_of_costs_is_a_tone_in_the_order_from_the_axis_up() -> None:
    assert [group.value for group in CostGroup] == list(TONES)


def test_every_group_of_costs_holds_a_category_and_has_words_of_its_own() -> None:
    assert {category.group for category in COST_CATEGORIES.values()} == set(CostGroup)
    for words in ([group.words for group in CostGroup], [group.short_words for group in CostGroup]):
        assert len(set(words)) == len(CostGroup)
    assert all(len(group.short_words) <= len(group.words) for group in CostGroup)


def test_what_work_on_a_car_is_booked_as_is_a_category() -> None:
    booked = {kind.cost_category for kind in DUE_KINDS.values() if kind.cost_category}
    assert booked <= {category.name for category in ENTRY_CATEGORIES}


# --- Nothing else spells the names ------------------------------------------------------------------------

#: Names that are other things too: kinds of due item, a car's fuel, an assumption, a key of an answer.
ALSO_SOMETHING_ELSE = {"mot", "vehicle_tax", "insurance", "tyres", "breakdown_cover", "other"} | {
    *("fuel", "repairs", "breakdown", "fit_out")
}


def spelled(names: set[str]) -> Iterator[str]:
    for path in sorted((ROOT / "costing").rglob("*.py")):
        if {"migrations", "catalogue"} & {*path.parts}:
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Constant) and node.value in names:
                yield f"{path.relative_to(ROOT)}:{node.lineno}: {node.value}"
    for path in sorted((ROOT / "templates").rglob("*.*")):
        words = re.findall(r"""(?:["']|form\.)(\w+)""", path.read_text())
        yield from (f"{path.relative_to(ROOT)}: {word}" for word in words if word in names)


def test_nothing_outside_the_catalogue_spells_its_names() -> None:
    parts = RUNNING_PARTS.values()
    document = {key for part in parts for key in (part.key, part.life_key) if key}
    names = {*AGREEMENT_KINDS, *COST_CATEGORIES, *RUNNING_PARTS, *document} - ALSO_SOMETHING_ELSE
    assert not list(spelled(names))
