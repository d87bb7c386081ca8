"""The page /put-right/<secret>/: a second member says whether a danger is over."""

from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from fleet.actions import close_defect, reassess_defect, reopen_defect
from fleet.models import Car, Defect, DefectStep
from fleet.queries import secret_of
from instructors.models import Member
from tests.factories import DefectFactory
from tests.fleet.defects import done, told_of

pytestmark = pytest.mark.usefixtures("today")

TODAY = date(2026, 3, 16)
OFF = "Do not use this car for lessons"
YES, NO = {"answer": "yes", "words": ""}, {"answer": "no", "words": "It still sinks"}


@pytest.fixture
def defect(car: Car) -> Defect:
    found: Defect = DefectFactory.create(car=car, severity="dangerous", description="Brake pedal soft")
    return found


@pytest.fixture
def waiting(defect: Defect, keeper: Member) -> DefectStep:
    """Said by the keeper to be put right."""
    close_defect(by=keeper, defect=defect, **done(words="Bled, new seals"))
    return defect.steps.latest("pk")


def path_of(step: DefectStep) -> str:
    return reverse("fleet:defect-confirm", args=[secret_of(step)])


def car_page(client: Client) -> str:
    return client.get("/cars/QA51ABC/").content.decode()


@pytest.mark.parametrize("who", ["colleague", "coordinator", "stranger"])
def test_any_other_member_confirms_it_and_the_car_is_back(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep, who: str
) -> None:
    page = everyone[who].get(path_of(waiting)).content.decode()
    for words in ("QA51 ABC", "Brake pedal soft", "Bled, new seals", "Wharf Lane Motors", "Wren Applegarth"):
        assert words in page
    for _ in range(2):
        page = everyone[who].post(path_of(waiting), YES, follow=True).content.decode()
        assert "you have seen it" in page
        assert "You have confirmed it." in page
    other = "colleague" if who != "colleague" else "coordinator"
    assert " has confirmed it." in everyone[other].get(path_of(waiting)).content.decode()
    defect.refresh_from_db()
    assert (defect.state, defect.closed_on, defect.steps.count()) == ("closed", TODAY, 3)
    step = defect.steps.latest("pk")
    assert (step.evidence, step.by.email) == ("member", f"{who}@book.example")
    assert OFF not in car_page(everyone["keeper"])
    told = {"keeper@book.example", "coordinator@book.example"} - {f"{who}@book.example"}
    assert told_of(defect)[-1] == sorted(told)


def test_whoever_recorded_it_cannot_confirm_it_keeper_or_coordinator(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep, coordinator: Member
) -> None:
    page = everyone["keeper"].get(path_of(waiting)).content.decode()
    assert "it takes somebody else" in page
    assert "I have seen it" not in page
    refused = everyone["keeper"].post(path_of(waiting), YES).content.decode()
    assert "You recorded it yourself: it takes somebody else." in refused
    close_defect(by=coordinator, defect=defect, **done(words="I looked"))
    assert (
        "You recorded it yourself"
        in everyone["coordinator"].post(path_of(defect.steps.latest("pk")), YES).content.decode()
    )
    defect.refresh_from_db()
    assert defect.state == "waiting"
    assert OFF in car_page(everyone["keeper"])


def test_whoever_says_no_says_why_and_the_car_stays_off_the_road(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep
) -> None:
    refused = everyone["colleague"].post(path_of(waiting), {"answer": "no", "words": ""})
    assert refused.context["form"].errors == {"words": ["Say what is still wrong, or wrong again."]}
    for _ in range(2):
        page = everyone["colleague"].post(path_of(waiting), NO, follow=True).content.decode()
        assert "says that it is not put right" in page
    defect.refresh_from_db()
    assert (defect.state, defect.steps.count()) == ("open", 3)
    assert OFF in car_page(everyone["keeper"])
    assert told_of(defect)[-1] == ["coordinator@book.example", "keeper@book.example"]


def test_a_danger_said_to_be_less_becomes_so_once_it_is_confirmed(
    everyone: dict[str, Client], defect: Defect, keeper: Member
) -> None:
    less = {"severity": "before_next_lesson", "words": "Only air in it", "done_by": "Wharf Lane", "done_on": TODAY}
    reassess_defect(by=keeper, defect=defect, **less)
    step = defect.steps.latest("pk")
    assert "Put right before the next lesson" in everyone["stranger"].get(path_of(step)).content.decode()
    everyone["stranger"].post(path_of(step), YES)
    defect.refresh_from_db()
    assert (defect.state, defect.severity) == ("open", "before_next_lesson")
    assert OFF in car_page(everyone["keeper"])


@pytest.mark.parametrize("since", ["recorded anew", "reopened", "closed with a photo"])
def test_an_older_link_answers_nothing_any_more(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep, keeper: Member, since: str
) -> None:
    if since == "recorded anew":
        close_defect(by=keeper, defect=defect, **done(words="New servo"))
    elif since == "reopened":
        reopen_defect(by=keeper, defect=defect, words="No")
    else:
        close_defect(by=keeper, defect=defect, **done(picture=b"jpeg"))
    state = Defect.objects.get().state
    page = everyone["colleague"].get(path_of(waiting)).content.decode()
    assert "This is settled." in page
    assert "Brake pedal soft" not in page
    everyone["colleague"].post(path_of(waiting), YES)
    assert Defect.objects.get().state == state


def test_the_link_opens_that_one_defect_and_nothing_else_of_the_car(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep
) -> None:
    assert everyone["colleague"].get(path_of(waiting)).status_code == 200
    for address in ("/cars/QA51ABC/", reverse("fleet:defect", args=[defect.pk])):
        assert everyone["colleague"].get(address).status_code == 404
    answer = everyone["anonymous"].get(path_of(waiting))
    assert answer["Location"].startswith("/account/login/?next=/put-right/")
    assert everyone["anonymous"].post(path_of(waiting), YES).status_code == 302


def test_a_link_that_was_not_given_out_leads_nowhere(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep
) -> None:
    secret = secret_of(waiting)
    reported = defect.steps.earliest("pk")
    for wrong in (str(waiting.pk), f"{waiting.pk}.", f"{secret}x", f"{reported.pk}{secret[secret.index('.') :]}"):
        assert everyone["colleague"].get(reverse("fleet:defect-confirm", args=[wrong])).status_code == 404
    assert everyone["colleague"].get(path_of(reported)).status_code == 404


def test_a_member_who_has_left_is_asked_no_more(
    everyone: dict[str, Client], waiting: DefectStep, colleague: Member
) -> None:
    Member.objects.filter(pk=colleague.pk).update(left_on=date(2026, 3, 15))
    assert everyone["colleague"].post(path_of(waiting), YES).status_code == 302
    assert Defect.objects.get().state == "waiting"


def test_the_page_is_kept_to_itself(everyone: dict[str, Client], waiting: DefectStep) -> None:
    answer = everyone["colleague"].get(path_of(waiting))
    assert answer.headers["Referrer-Policy"] == "strict-origin"
    assert "no-transform" in answer.headers["Cache-Control"]


def test_whoever_recorded_it_has_the_link_to_send_and_the_coordinator_a_key(
    everyone: dict[str, Client], defect: Defect, waiting: DefectStep
) -> None:
    own = everyone["keeper"].get(reverse("fleet:defect", args=[defect.pk])).content.decode()
    assert f'value="http://localhost:8000{path_of(waiting)}"' in own
    other = everyone["coordinator"].get(reverse("fleet:defect", args=[defect.pk])).content.decode()
    assert f'href="{path_of(waiting)}"' in other
    assert "Waits for a second member" in other


@pytest.mark.parametrize("answer", ["", "perhaps"])
def test_it_takes_one_of_the_two_keys(everyone: dict[str, Client], waiting: DefectStep, answer: str) -> None:
    refused = everyone["colleague"].post(path_of(waiting), {"answer": answer, "words": "x"})
    assert "Press one of the two keys." in refused.content.decode()
    assert Defect.objects.get().state == "waiting"
