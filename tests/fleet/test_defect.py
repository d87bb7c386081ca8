"""The page /defects/<pk>/, and the defects on their car's page."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions import close_defect, reassess_defect, reopen_defect, take_in_hand
from fleet.core.defects import CONSEQUENCES, Severity
from fleet.costs import WorkCost
from fleet.models import Car, Defect
from instructors.models import Member
from tests.factories import CheckPointFactory, DefectFactory
from tests.fleet.defects import done

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 3, 16)


def path_of(defect: Defect) -> str:
    return reverse("fleet:defect", args=[defect.pk])


def page_of(client: Client, defect: Defect) -> str:
    return " ".join(client.get(path_of(defect)).content.decode().split())


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="dangerous", description="Brake hose weeps")
    return found


@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_a_defect_is_for_the_cars_keeper_and_coordinators(
    everyone: dict[str, Client], defect: Defect, who: str, status: int
) -> None:
    assert everyone[who].get(path_of(defect)).status_code == status
    assert everyone[who].get("/defects/999999/").status_code == (302 if who == "anonymous" else 404)


@pytest.mark.parametrize("severity", Severity)
def test_it_says_what_follows_and_what_the_law_says_with_its_source(
    everyone: dict[str, Client], car: Car, severity: Severity
) -> None:
    page = page_of(everyone["coordinator"], DefectFactory.create(car=car, severity=severity))
    consequence = CONSEQUENCES[severity]
    for words in (consequence.to_do, *(rule.words for rule in consequence.rules), consequence.rules[0].source):
        assert words.replace("'", "&#x27;") in page


def test_what_is_dangerous_says_not_to_drive_at_all_and_nothing_is_called_safe(
    everyone: dict[str, Client], defect: Defect
) -> None:
    page = page_of(everyone["keeper"], defect)
    assert "Dangerous, do not drive" in page
    assert "Do not drive it at all" in page
    assert " safe." not in page.lower()
    assert "is safe" not in page.lower().replace("check your vehicle is safe to drive", "")


def test_its_history_tells_each_step_with_who_and_when(
    everyone: dict[str, Client], defect: Defect, keeper: Member, coordinator: Member
) -> None:
    take_in_hand(by=keeper, defect=defect, words="Booked at Wharf Lane Motors")
    less = {"severity": "watch", "words": "Only damp", "done_by": "Wharf Lane Motors", "done_on": TODAY}
    reassess_defect(by=coordinator, defect=defect, **less, picture=b"jpeg")
    close_defect(by=keeper, defect=defect, closed_on=TODAY, words="New hose")
    reopen_defect(by=coordinator, defect=defect, words="Weeps again")
    rows = everyone["keeper"].get(path_of(defect)).context["steps"]
    assert [(row.title, row.step.words, row.step.by) for row in rows] == [
        ("Reported. Dangerous, do not drive", "", keeper),
        ("Being worked on", "Booked at Wharf Lane Motors", keeper),
        ("Reassessed. Keep an eye on it", "Only damp", coordinator),
        ("Closed", "New hose", keeper),
        ("Reopened", "Weeps again", coordinator),
    ]
    page = page_of(everyone["coordinator"], defect)
    assert "Recorded by Zdzisława Łąkowska." in page
    assert "Found on 11 March 2026" in page


def test_what_it_cost_is_shown_to_whoever_paid_it_alone(
    everyone: dict[str, Client], defect: Defect, keeper: Member
) -> None:
    cost = WorkCost("repairs", TODAY, Decimal("1186.40"))
    close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"), cost=cost, cost_ref="c-1")
    assert "It cost you £1,186.40." in page_of(everyone["keeper"], defect)
    for_coordinator = page_of(everyone["coordinator"], defect)
    assert "New hose" in for_coordinator
    assert "1,186.40" not in for_coordinator
    assert "cost" not in for_coordinator.split("<h2")[-1]


def test_a_car_that_changed_hands_takes_its_defects_along_but_not_what_they_cost(
    everyone: dict[str, Client], defect: Defect, keeper: Member, colleague: Member
) -> None:
    cost = WorkCost("repairs", TODAY, Decimal("186.40"))
    close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"), cost=cost, cost_ref="c-1")
    Car.objects.update(keeper=colleague)
    assert everyone["keeper"].get(path_of(defect)).status_code == 404
    assert "186.40" not in page_of(everyone["colleague"], defect)


def test_the_ways_on_fit_how_it_stands(everyone: dict[str, Client], defect: Defect, keeper: Member) -> None:
    def ways() -> set[str]:
        page = page_of(everyone["keeper"], defect)
        names = ("defect-close", "defect-take-in-hand", "defect-reassess", "defect-reopen")
        return {name for name in names if f'href="{reverse(f"fleet:{name}", args=[defect.pk])}"' in page}

    assert ways() == {"defect-close", "defect-take-in-hand", "defect-reassess"}
    take_in_hand(by=keeper, defect=defect)
    assert ways() == {"defect-close", "defect-reassess"}
    close_defect(by=keeper, defect=defect, **done())
    assert ways() == {"defect-close", "defect-reopen"}
    close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"))
    assert ways() == {"defect-reopen"}


def test_the_point_of_the_check_is_named_the_co_ops_own_too(everyone: dict[str, Client], car: Car) -> None:
    CheckPointFactory.create(name="roof-sign", words="Roof sign")
    own = DefectFactory.create(car=car, found_by="check", point="roof-sign")
    listed = DefectFactory.create(car=car, found_by="check", point="horn")
    assert "Walkaround check, roof sign." in page_of(everyone["keeper"], own)
    assert "Walkaround check, horn." in page_of(everyone["keeper"], listed)


def test_words_are_shown_as_they_were_typed(everyone: dict[str, Client], car: Car) -> None:
    defect = DefectFactory.create(car=car, description="<script>alert(1)</script>")
    assert "<script>alert(1)" not in page_of(everyone["coordinator"], defect)


def test_the_cars_page_lists_the_worst_open_one_first_and_closed_ones_last(
    everyone: dict[str, Client], car: Car
) -> None:
    DefectFactory.create(car=car, description="Closed one", severity="dangerous", state="closed", closed_on=TODAY)
    DefectFactory.create(car=car, description="Chip")
    DefectFactory.create(car=car, description="Bulb", severity="before_next_lesson")
    DefectFactory.create(car=car, description="Brakes", severity="dangerous")
    page = everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    section = page[page.index('id="defects"') :]
    places = [section.index(words) for words in ("Brakes", "Bulb", "Chip", "Report a defect", "Closed one")]
    assert places == sorted(places)


def test_a_car_without_a_defect_says_no_more_than_that(everyone: dict[str, Client], car: Car) -> None:
    page = everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert "No open defect is recorded." in page
    assert reverse("fleet:defect-report", args=["QA51ABC"]) in page
