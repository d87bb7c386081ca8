"""The page /me/record/: what was done that concerns whoever is signed in, and nothing of anybody else."""

from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Act, ActKind, Member
from tests.costing.pages import text_of
from tests.factories import ActFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
RECORD = reverse("instructors:record")
AT = datetime(2026, 3, 10, 9, 5, tzinfo=UTC)


def page(client: Client, query: str = "") -> str:
    return text_of(client.get(RECORD + query))


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(RECORD).url.startswith(reverse("account_login"))


def test_it_is_linked_from_the_page_about_oneself(everyone: dict[str, Client]) -> None:
    assert RECORD in everyone["keeper"].get(reverse("fleet:profile")).content.decode()


def test_everybody_sees_their_own_and_no_coordinator_sees_anothers(
    everyone: dict[str, Client], keeper: Member, coordinator: Member
) -> None:
    ActFactory(concerns=keeper, by=coordinator, happened_at=AT)
    row = "QA51 ABC: last day in service It was not set and is now 28 February 2026. 10 March 2026 at 09:05"
    assert f"{row}, by Zdzisława Łąkowska. The e-mail about it has not gone out yet." in page(everyone["keeper"])
    for who in ("coordinator", "colleague", "stranger"):
        assert "QA51 ABC" not in page(everyone[who])
        assert "QA51 ABC" not in page(everyone[who], f"?member={keeper.pk}&concerns={keeper.pk}")


def test_it_says_what_one_did_oneself_and_whether_one_was_told(everyone: dict[str, Client], keeper: Member) -> None:
    ActFactory(concerns=keeper, told_at=AT)
    ActFactory(concerns=keeper, by=keeper, mail=None, kind=ActKind.SIGN_IN, field="signed_in", about="", now="By code")
    shown = page(everyone["keeper"])
    assert "You were told by e-mail." in shown
    assert "Signed in By code. 10 March 2026 at 09:00, by you." in shown


def test_what_was_removed_is_said_to_be(everyone: dict[str, Client], keeper: Member) -> None:
    ActFactory(concerns=keeper, field="reading:2026-03-05", was="48210", now="")
    assert "It was 48,210 miles, and has been removed." in page(everyone["keeper"])


def test_one_kind_alone_and_page_by_page_newest_first(everyone: dict[str, Client], keeper: Member) -> None:
    for number in range(30):
        ActFactory(concerns=keeper, now=f"2025-01-{number + 1:02}", happened_at=AT + timedelta(hours=number))
    ActFactory(concerns=keeper, kind=ActKind.PERSON, about="", field="grade", was="PDI", now="ADI")
    assert "Your grade" in page(everyone["keeper"], "?kind=person")
    assert "QA51 ABC" not in page(everyone["keeper"], "?kind=person")
    first, second = (page(everyone["keeper"], f"?kind=car&page={number}") for number in (1, 2))
    assert first.index("30 January 2025") < first.index("6 January 2025")
    assert "5 January 2025" in second
    assert "Page 2 of 2" in second
    assert "?kind=car&amp;page=2" in everyone["keeper"].get(RECORD, {"kind": "car"}).content.decode()
    assert everyone["keeper"].get(RECORD, {"kind": "money"}).status_code == 404


def test_an_empty_record_says_so_and_who_can_read_the_server(everyone: dict[str, Client]) -> None:
    shown = page(everyone["stranger"])
    assert "Your record is empty so far." in shown
    assert "Whoever runs the machine that holds this book can read everything on it" in shown
    assert "kept for 400 days" in shown


def test_no_address_asks_the_database_anything_else(everyone: dict[str, Client], keeper: Member) -> None:
    """The admin site answered questions about every column a relation reaches."""
    ActFactory(concerns=keeper)
    plain = page(everyone["keeper"])
    for query in ("?password__regex=x", "?concerns__password__regex=x", "?by__email=nobody&kind="):
        assert page(everyone["keeper"], query) == plain
    assert Act.objects.count() == 1


@pytest.mark.parametrize("address", ["/repairs/", "/repairs/instructors/member/?password__regex=^argon2", "/admin/"])
def test_there_is_no_general_admin_site(everyone: dict[str, Client], address: str) -> None:
    for who in ("coordinator", "keeper", "stranger"):
        assert everyone[who].get(address).status_code == 404


@pytest.mark.parametrize("name", ["instructors:people", "fleet:car-list", "fleet:reminder-log"])
def test_no_list_of_a_coordinators_takes_lookups_from_the_address(
    everyone: dict[str, Client], keeper: Member, name: str
) -> None:
    keeper.set_password("seven wet kerbstones")
    keeper.save()
    url = reverse(name)
    answers = {
        text_of(everyone["coordinator"].get(f"{url}?email={keeper.email}&password__regex={guess}")): guess
        for guess in ("^", "^nothing-like-it$")
    }
    assert len(answers) == 1


def test_a_long_record_takes_no_more_queries(everyone, keeper, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    for _ in range(30):
        ActFactory(concerns=keeper, field="keeper", was=f"member:{keeper.pk}", now="member:1")
    with django_assert_max_num_queries(20):
        page(everyone["keeper"])
