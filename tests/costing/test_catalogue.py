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
from costing.archive.dumping import dump
from costing.choosing.core.case import Offer, Running
from costing.choosing.core.figures import figures
from costing.choosing.document import keys
from costing.choosing.document.offer_keys import OFFER, asked_of
from costing.choosing.document.tables import to_json
from costing.choosing.document.toml import file_of, read_file
from costing.choosing.forms.several import fields_of, initial_of
from costing.choosing.services.accepting import agreement_fields
from costing.choosing.services.stored import case_of, stored_of
from costing.core.catalogue.agreements import AGREEMENT_KINDS, OFFER_TERMS, AgreementKind
from costing.core.catalogue.costs import COST_CATEGORIES, ENTRY_CATEGORIES, CostCategory, CostGroup
from costing.core.catalogue.running import RUNNING_PARTS, RunningPart, When
from costing.core.group import RUNNING_STEPS
from costing.models import Agreement, CostEntry, GroupFigure
from costing.models import Offer as OfferRow
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from instructors.models import Member
from tests.core.costing.choosing.cases import SAMPLE_OF
from tests.costing.comparison_pages import comparison_of
from tests.costing.offered import RUNNING, add_offers
from tests.costing.pages import cost_data, save, shown
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


def told(kind: str) -> dict[str, Any]:
    """The typed values of a complete offer of this kind, without its name and kind."""
    offer = SAMPLE_OF[kind]
    return {
        key.name: value
        for key in asked_of(kind)
        if key.name not in {"name", "kind", "running"}
        and (value := getattr(offer, key.name)) != Offer._field_defaults.get(key.name)
    }


def terms(kind: str) -> dict[str, Any]:
    """Complete terms of an offer of this kind as they are stored."""
    return to_json("offer", told(kind))


def typed(kind: AgreementKind) -> dict[str, Any]:
    """Complete terms of an offer of this kind as a member types them."""
    sent: dict[str, Any] = {"kind": kind.name, "name": "This one", "frequency": kind.usual_frequency}
    for key in asked_of(kind.name):
        if key.name in told(kind.name):
            asked = fields_of(key, kind=kind.name)
            shown_in = initial_of(key, told(kind.name)[key.name])
            sent |= {name: asked[name].prepare_value(value) for name, value in shown_in.items()}
    return sent


@KIND
def test_an_offer_is_told_on_one_page_and_compared(
    everyone: dict[str, Client], keeper: Member, kind: AgreementKind
) -> None:
    comparison = comparison_of(keeper, running=RUNNING)
    add = reverse("costing:offer-add", args=[comparison.pk])
    assert kind.explanation in shown(everyone["keeper"], f"{add}?kind={kind.name}")
    response = everyone["keeper"].post(add, typed(kind))
    assert response.url == reverse("costing:comparison", args=[comparison.pk])
    [offer] = case_of(comparison).offers
    assert offer == SAMPLE_OF[kind.name]._replace(name="This one", running=Running())
    assert "This one" in shown(everyone["keeper"], response.url)
    page = shown(everyone["keeper"], reverse("costing:offer-terms", args=[OfferRow.objects.get().pk]))
    assert kind.words in page


def test_every_term_and_every_running_cost_is_a_key_of_the_file() -> None:
    assert {key.name for key in OFFER} == {"name", "kind", "running", *(term.name for term in OFFER_TERMS)}
    of_parts = {key for part in RUNNING_PARTS.values() for key in (part.key, part.life_key) if key}
    # Fuel is told by the mile or by economy, and an insurer may give some of the premium back.
    assert {key.name for key in keys.RUNNING} == of_parts | {"fuel", "insurance_given_back"}


@KIND
def test_an_offer_comes_back_from_its_file(keeper: Member, kind: AgreementKind, tmp_path: Path) -> None:
    comparison = comparison_of(keeper, running=RUNNING)
    add_offers(comparison, (kind.name, "This one", terms(kind.name)))
    file = tmp_path / "offers.toml"
    file.write_text(file_of(stored_of(comparison).tables))
    assert read_file(file, nation="GB") == case_of(comparison)


@KIND
def test_an_accepted_offer_is_an_agreement_that_pages_and_archive_have(
    everyone: dict[str, Client], car: Car, kind: AgreementKind, tmp_path: Path
) -> None:
    comparison = comparison_of(car.keeper, running=RUNNING)
    add_offers(comparison, (kind.name, "This one", terms(kind.name)))
    [offer] = case_of(comparison).offers
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
    case = case_of(comparison)
    assert figures(case, case.offers[0]).flow.parts["mot"] == tests * 50_00
    text = shown(everyone["keeper"], reverse("costing:comparison", args=[comparison.pk]))
    assert f"£50 each, once the car is {age} years old" in text
    file = tmp_path / "offers.toml"
    file.write_text(file_of(stored_of(comparison).tables))
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
    assert part.missing.removeprefix("the ") in shown(everyone["keeper"], page).casefold().replace("mot", "MOT")
    field = f"{part.key}_1" if part.when is When.PREMIUMS else part.key
    asked = reverse("costing:comparison-running", args=[comparison.pk])
    assert part.question in shown(everyone["keeper"], asked)
    assert everyone["keeper"].post(asked, {field: "17.50"}).status_code == 303
    text = shown(everyone["keeper"], page)
    assert "17.5" in text
    assert part.words in text
    comparison.refresh_from_db()
    file = tmp_path / "offers.toml"
    file.write_text(file_of(stored_of(comparison).tables))
    assert read_file(file, nation="GB") == case_of(comparison)


@PART
def test_a_part_may_be_included_in_an_offer(everyone: dict[str, Client], keeper: Member, part: RunningPart) -> None:
    offer_kind = AGREEMENT_KINDS["owned"]
    offer = OfferFactory.create(comparison=comparison_of(keeper), kind="owned", terms=terms("owned"))
    page = reverse("costing:offer-terms", args=[offer.pk])
    assert part.as_included in shown(everyone["keeper"], page)
    assert everyone["keeper"].post(page, typed(offer_kind) | {"includes": [part.name]}).status_code == 303
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
        "miles": {"covers_miles": "10000"},
        "": {},
    }[category.covers]
    sent = cost_data(car, category=category.name, amount="3650", **covers)
    assert save(everyone["keeper"], reverse("costing:cost-log"), sent).status_code == 303
    assert category.words in shown(everyone["keeper"], reverse("costing:entries"))
    month = shown(everyone["keeper"], f"{reverse('costing:statement')}?first=2026-03-01&last=2026-03-16")
    is_charged = not category.is_instalment and category.covers != "miles"
    assert category.source in month
    assert ("– true cost, 3,650.00 money out" not in month) is is_charged
    assert month.count("true cost, 3,650.00 money out") >= 2
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
