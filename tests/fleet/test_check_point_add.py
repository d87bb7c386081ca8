"""The page /check-points/new/: a point that the co-op adds to the check."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fleet.models import CheckPoint
from instructors.models import Member
from tests.factories import CheckPointFactory

pytestmark = pytest.mark.usefixtures("today")

PAGE = reverse("fleet:check-point-add")
REF = "0d8f7a52-5b0e-4a7e-9b07-3f6f3f2b9a01"
TYPED = {"ref": REF, "group": "tuition", "words": "Roof sign", "look_for": "Fixed firmly."}


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)]
)
def test_nobody_but_a_coordinator_adds_one(everyone: dict[str, Client], who: str, status: int) -> None:
    assert everyone[who].get(PAGE).status_code == status
    assert everyone[who].post(PAGE, TYPED).status_code == status
    assert not CheckPoint.objects.exists()


def test_a_coordinator_adds_one_and_twice_is_once(everyone: dict[str, Client]) -> None:
    assert everyone["coordinator"].get(PAGE).status_code == 200
    for _ in range(2):
        assert everyone["coordinator"].post(PAGE, TYPED).url == reverse("fleet:check-points")
    point = CheckPoint.objects.get()
    assert (point.group, point.words, point.look_for) == ("tuition", "Roof sign", "Fixed firmly.")
    assert point.history.get().history_user == point.added_by
    assert Member.objects.get(pk=point.added_by_id).email == "coordinator@book.example"


def test_a_form_sent_again_with_other_words_adds_nothing(everyone: dict[str, Client]) -> None:
    for words in ("Roof sign", "Roof sgin"):
        everyone["coordinator"].post(PAGE, TYPED | {"words": words})
    assert CheckPoint.objects.get().words == "Roof sign"
    assert everyone["coordinator"].get(PAGE).context["form"]["ref"].value() != REF


def test_a_point_retired_before_may_be_added_anew(everyone: dict[str, Client]) -> None:
    CheckPointFactory(words="Roof sign", retired_on="2026-03-02")
    everyone["coordinator"].post(PAGE, TYPED)
    assert CheckPoint.objects.filter(retired_on__isnull=True).get().words == "Roof sign"


def test_a_name_in_any_script_will_do(everyone: dict[str, Client]) -> None:
    for words in ("Знак на даху", "Πινακίδα"):
        everyone["coordinator"].post(PAGE, TYPED | {"words": words, "ref": str(uuid4())})
    assert len(set(CheckPoint.objects.values_list("name", flat=True))) == 2


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"words": " "}, "Fill this in."),
        ({"words": "x" * 81}, "Use at most 80 characters."),
        ({"look_for": "x" * 201}, "Use at most 200 characters."),
        ({"ref": "7"}, "Reload the page and try again."),
        ({"group": "boot"}, "Select a valid choice. boot is not one of the available choices."),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], change: dict[str, str], why: str
) -> None:
    form = everyone["coordinator"].post(PAGE, TYPED | change).context["form"]
    [(field, typed)] = change.items()
    assert form.errors == {field: [why]}
    assert form[field].value() == typed
    assert not CheckPoint.objects.exists()
