"""The page /people/<pk>/: a member's name, grade and role, and once a day of joining."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from instructors.actions import change_member
from instructors.models import Act, ActMail, Grade, Member, Role
from tests.factories import CoordinatorFactory

ASKED = {"name": "Wren Applegarth-Ley", "grade": "PDI", "role": "member"}


def page_of(member: Member) -> str:
    return reverse("instructors:member-change", args=[member.pk])


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_a_member_without_the_role_finds_nothing_and_changes_nothing(
    everyone: dict[str, Client], keeper: Member, who: str
) -> None:
    assert everyone[who].get(page_of(keeper)).status_code == 404
    assert everyone[who].post(page_of(keeper), ASKED).status_code == 404
    keeper.refresh_from_db()
    assert keeper.name == "Wren Applegarth"


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client], keeper: Member) -> None:
    assert everyone["anonymous"].post(page_of(keeper), ASKED).url.startswith(reverse("account_login"))


def test_a_coordinator_changes_a_member(everyone: dict[str, Client], keeper: Member) -> None:
    for _ in range(2):  # a second tap changes nothing more
        response = everyone["coordinator"].post(page_of(keeper), ASKED)
        assert response.status_code == 303
        assert response.url == reverse("instructors:people")
    keeper.refresh_from_db()
    assert (keeper.name, keeper.grade, keeper.role) == ("Wren Applegarth-Ley", Grade.PDI, Role.MEMBER)
    told = Act.objects.filter(concerns=keeper).order_by("pk").values_list("field", "was", "now", "mail")
    [mail] = ActMail.objects.all()
    assert list(told) == [
        ("name", "Wren Applegarth", "Wren Applegarth-Ley", mail.pk),
        ("grade", "ADI", "PDI", mail.pk),
    ]


def test_an_email_address_cannot_be_changed_even_by_a_made_up_post(everyone: dict[str, Client], keeper: Member) -> None:
    everyone["coordinator"].post(page_of(keeper), ASKED | {"email": "coordinator+keeper@book.example"})
    keeper.refresh_from_db()
    assert keeper.email == "keeper@book.example"


def test_wrong_input_keeps_what_was_typed(everyone: dict[str, Client], keeper: Member) -> None:
    Member.objects.filter(pk=keeper.pk).update(joined_on=None)
    wrong = ASKED | {"name": "Half Typed", "joined_on": "31 February 2024"}
    response = everyone["coordinator"].post(page_of(keeper), wrong)
    page = response.content.decode()
    assert response.status_code == 200
    assert 'value="Half Typed"' in page
    assert 'value="31 February 2024"' in page
    assert response.context["form"].errors["joined_on"] == ["Write the day like 5 March 2027 or 05/03/2027."]
    keeper.refresh_from_db()
    assert keeper.name == "Wren Applegarth"


def test_a_day_of_joining_once_set_is_not_asked_for_and_stays(everyone: dict[str, Client], keeper: Member) -> None:
    assert 'name="joined_on"' not in everyone["coordinator"].get(page_of(keeper)).content.decode()
    everyone["coordinator"].post(page_of(keeper), ASKED | {"joined_on": "2020-01-01"})
    keeper.refresh_from_db()
    assert (keeper.name, keeper.joined_on) == ("Wren Applegarth-Ley", date(2023, 4, 6))


@pytest.mark.usefixtures("today")
@pytest.mark.parametrize(
    ("typed", "refusal"),
    [
        ("2026-03-15", "Give today or a later day."),
        ("2026-04-01", "Wren Applegarth left on 31 March 2026, which is before this day."),
    ],
)
def test_a_day_of_joining_may_neither_lie_back_nor_after_the_last_day(
    everyone: dict[str, Client], keeper: Member, typed: str, refusal: str
) -> None:
    Member.objects.filter(pk=keeper.pk).update(joined_on=None, left_on=date(2026, 3, 31))
    response = everyone["coordinator"].post(page_of(keeper), ASKED | {"joined_on": typed})
    assert response.context["form"].errors["joined_on"] == [refusal]
    keeper.refresh_from_db()
    assert keeper.joined_on is None


@pytest.mark.usefixtures("today")
def test_an_empty_day_of_joining_is_set_once(everyone: dict[str, Client], keeper: Member) -> None:
    Member.objects.filter(pk=keeper.pk).update(joined_on=None)
    for typed in ("2026-03-16", "2026-03-20"):
        everyone["coordinator"].post(page_of(keeper), ASKED | {"joined_on": typed})
    keeper.refresh_from_db()
    assert keeper.joined_on == date(2026, 3, 16)
    assert Act.objects.get(field="joined_on").now == "2026-03-16"


@pytest.mark.usefixtures("today")
def test_not_even_the_action_changes_a_day_of_joining(keeper: Member, coordinator: Member) -> None:
    with pytest.raises(ValidationError, match="joined on 6 April 2023, and that cannot be changed"):
        change_member(by=coordinator, member=keeper, name="W", role="member", grade="ADI", joined_on=date(2026, 3, 16))


def test_what_a_coordinator_changes_of_themself_is_recorded_and_not_mailed(
    everyone: dict[str, Client], coordinator: Member
) -> None:
    everyone["coordinator"].post(page_of(coordinator), ASKED | {"role": "coordinator"})
    assert set(Act.objects.values_list("concerns", "by", "mail")) == {(coordinator.pk, coordinator.pk, None)}


def test_the_page_says_who_is_told(everyone: dict[str, Client], keeper: Member, coordinator: Member) -> None:
    words = "is told by e-mail"
    assert f"Wren Applegarth {words}" in everyone["coordinator"].get(page_of(keeper)).content.decode()
    assert words not in everyone["coordinator"].get(page_of(coordinator)).content.decode()


def test_the_only_coordinator_cannot_step_down(everyone: dict[str, Client], coordinator: Member) -> None:
    response = everyone["coordinator"].post(page_of(coordinator), ASKED | {"name": coordinator.name})
    assert "is the only coordinator" in response.context["form"].errors["role"][0]
    coordinator.refresh_from_db()
    assert coordinator.is_coordinator


def test_one_of_two_coordinators_may_step_down_and_then_sees_the_people_no_more(
    everyone: dict[str, Client], coordinator: Member
) -> None:
    CoordinatorFactory()
    response = everyone["coordinator"].post(page_of(coordinator), ASKED | {"name": coordinator.name})
    assert response.url == reverse("costing:home")
    assert everyone["coordinator"].get(reverse("instructors:people")).status_code == 404


def test_a_coordinator_who_leaves_soon_does_not_count_as_another(
    everyone: dict[str, Client], coordinator: Member
) -> None:
    CoordinatorFactory(left_on=date(2099, 1, 1))
    response = everyone["coordinator"].post(page_of(coordinator), ASKED | {"name": coordinator.name})
    assert "role" in response.context["form"].errors


def test_a_member_who_is_not_there_is_not_found(everyone: dict[str, Client]) -> None:
    assert everyone["coordinator"].get(reverse("instructors:member-change", args=[999_999])).status_code == 404


def test_a_name_is_on_one_line(everyone: dict[str, Client], keeper: Member) -> None:
    response = everyone["coordinator"].post(page_of(keeper), ASKED | {"name": "Wren\nApplegarth"})
    assert response.context["form"].errors == {"name": ["Write this on one line, without control characters."]}
    keeper.refresh_from_db()
    assert keeper.name == "Wren Applegarth"
