"""The page /settings/: what holds for every member."""

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Act, Cooperative, Member
from instructors.wording import acts_in_words
from tests.factories import CooperativeFactory

SETTINGS = reverse("instructors:settings")
ASKED = {
    "name": "Three Valleys",
    "nation": "NI",
    "reminder_hour": "6",
    "minimum_contributors": "7",
    "closing_day": "12",
    "rounding": "50",
    "depreciation_percent": "17.5",
    "tyre_life_miles": "22000",
}


@pytest.mark.parametrize("who", ["keeper", "colleague", "stranger"])
def test_a_member_without_the_role_finds_nothing_and_changes_nothing(everyone: dict[str, Client], who: str) -> None:
    assert everyone[who].get(SETTINGS).status_code == 404
    assert everyone[who].post(SETTINGS, ASKED).status_code == 404
    assert not Cooperative.objects.exists()


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].post(SETTINGS, ASKED).url.startswith(reverse("account_login"))


def test_the_defaults_are_shown_before_anything_was_saved(everyone: dict[str, Client]) -> None:
    page = everyone["coordinator"].get(SETTINGS).content.decode()
    assert 'value="Our co-operative"' in page
    assert 'value="15"' in page
    assert 'value="25000"' in page


def test_saving_twice_keeps_one_row(everyone: dict[str, Client]) -> None:
    for _ in range(2):
        assert everyone["coordinator"].post(SETTINGS, ASKED).status_code == 303
    row = Cooperative.objects.get()
    assert (row.name, row.nation, row.reminder_hour) == ("Three Valleys", "NI", 6)
    assert (row.minimum_contributors, row.tyre_life_miles) == (7, 22_000)
    assert (row.closing_day, row.rounding) == (12, 50)
    assert row.depreciation_rate == Decimal("0.1750")


def test_the_page_without_an_account_is_there_until_it_is_switched_off(everyone: dict[str, Client]) -> None:
    assert 'name="rent_or_own_is_open"' in (page := everyone["coordinator"].get(SETTINGS).content.decode())
    assert "checked" in page.split('name="rent_or_own_is_open"')[1].split(">")[0]
    everyone["coordinator"].post(SETTINGS, ASKED)
    assert Cooperative.objects.get().rent_or_own_is_open is False
    everyone["coordinator"].post(SETTINGS, ASKED | {"rent_or_own_is_open": "on"})
    assert Cooperative.objects.get().rent_or_own_is_open is True


def test_a_second_step_is_asked_of_coordinators_where_it_is_ticked(everyone: dict[str, Client]) -> None:
    asked = ASKED | {"coordinators_need_second_factor": "on"}
    assert everyone["coordinator"].post(SETTINGS, ASKED).status_code == 303
    assert Cooperative.objects.get().coordinators_need_second_factor is False
    assert everyone["coordinator"].post(SETTINGS, asked).status_code == 303
    assert Cooperative.objects.get().coordinators_need_second_factor is True


def test_every_member_is_told_that_coordinators_are_asked_for_a_second_step_or_no_more(
    everyone: dict[str, Client], keeper: Member, coordinator: Member
) -> None:
    client = everyone["coordinator"]
    client.post(SETTINGS, ASKED)
    for _ in range(2):
        client.post(SETTINGS, ASKED | {"coordinators_need_second_factor": "on"})
    told = Act.objects.filter(field="coordinators_need_second_factor")
    for member in (keeper, coordinator):
        [act] = told.filter(concerns=member)
        [words] = acts_in_words([act], reader=keeper.pk)
        assert words.title == "Second step for coordinators"
        assert (words.was, words.now) == ("no", "yes")
        assert (act.mail_id is None) == (member == coordinator)


def test_what_was_saved_is_shown_again(everyone: dict[str, Client]) -> None:
    CooperativeFactory(depreciation_rate=Decimal("0.1825"))
    assert 'value="18.25"' in everyone["coordinator"].get(SETTINGS).content.decode()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("minimum_contributors", "4"),
        ("minimum_contributors", "-7"),
        ("reminder_hour", "3"),
        ("reminder_hour", "24"),
        ("reminder_hour", "7:30"),
        ("closing_day", "7"),
        ("closing_day", "21"),
        ("rounding", "30"),
        ("depreciation_percent", "100"),
        ("depreciation_percent", "-1"),
        ("depreciation_percent", "1.234"),
        ("depreciation_percent", "NaN"),
        ("tyre_life_miles", "0"),
        ("nation", "FR"),
        ("name", " "),
        ("name", "Three\nValleys"),
        ("name", "Three\u2028Valleys"),
        ("name", "Three\u202eValleys"),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(everyone: dict[str, Client], field: str, typed: str) -> None:
    response = everyone["coordinator"].post(SETTINGS, ASKED | {field: typed})
    form = response.context["form"]
    assert set(form.errors) == {field}
    assert form[field].value() == typed
    assert form["tyre_life_miles" if field != "tyre_life_miles" else "name"].value() is not None
    assert not Cooperative.objects.exists()


def test_fewer_than_five_contributors_says_why_not(everyone: dict[str, Client]) -> None:
    response = everyone["coordinator"].post(SETTINGS, ASKED | {"minimum_contributors": "4"})
    assert "could give away one member's costs" in response.context["form"].errors["minimum_contributors"][0]


def test_another_closing_day_counts_from_the_next_month_on(everyone: dict[str, Client], today: date) -> None:
    everyone["coordinator"].post(SETTINGS, ASKED)
    row = Cooperative.objects.get()
    assert row.closing_day_of(date(2026, 3, 1)) == 10
    assert row.closing_day_of(date(2026, 4, 1)) == 12
    # Changed again within the month, this month's own still stands.
    everyone["coordinator"].post(SETTINGS, ASKED | {"closing_day": "15"})
    row.refresh_from_db()
    assert [row.closing_day_of(date(2026, month, 1)) for month in (2, 3, 4, 5)] == [10, 10, 15, 15]


def test_whoever_asks_for_a_second_step_and_has_none_reads_that_it_is_saved(everyone: dict[str, Client]) -> None:
    page = everyone["coordinator"].post(SETTINGS, ASKED | {"coordinators_need_second_factor": "on"}, follow=True)
    assert page.redirect_chain[-1][0] == reverse("mfa_index")
    assert "Settings saved." in page.content.decode()


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("name", "", "This cannot be left empty."),
        ("nation", "", "Choose one."),
        ("reminder_hour", "", "This cannot be left empty."),
        ("minimum_contributors", "1001", "This is more than 1,000: it must be between 5 and 1,000."),
        ("minimum_contributors", "", "This cannot be left empty."),
        ("closing_day", "", "This cannot be left empty."),
        ("rounding", "", "Choose one."),
        ("depreciation_percent", "250", "This is more than 99.99: it must be between 0 and 99.99%."),
        ("depreciation_percent", "-1", "This is less than 0: it must be between 0 and 99.99%."),
        ("depreciation_percent", "", "This cannot be left empty."),
        ("depreciation_percent", "a lot", "This cannot be read: write it like 15."),
        ("depreciation_percent", "17.555", "This has more than 2 decimal places."),
        ("depreciation_percent", "1e99999999", "This cannot be read: write it like 15."),
        ("tyre_life_miles", "0", "This is less than 1: it must be between 1 and 200,000 miles."),
        ("tyre_life_miles", "", "This cannot be left empty."),
        ("tyre_life_miles", "999999", "This is more than 200,000: it must be between 1 and 200,000 miles."),
    ],
)
def test_what_does_not_fit_is_said_once_in_words_that_fit_the_field(
    everyone: dict[str, Client], field: str, typed: str, said: str
) -> None:
    refused = everyone["coordinator"].post(SETTINGS, ASKED | {field: typed})
    assert refused.context["form"].errors == {field: [said]}
