"""The page /kept/: what is kept for how long and why, for every member."""

from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse

from config.housekeeping import retention
from instructors.actions import clean_up
from instructors.models import Member
from tests.costing.pages import text_of
from tests.factories import InvitationFactory

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]
KEPT = reverse("instructors:kept")


def test_somebody_not_signed_in_is_sent_to_sign_in(everyone: dict[str, Client]) -> None:
    assert everyone["anonymous"].get(KEPT).url.startswith(reverse("account_login"))


def test_it_shows_the_table_by_which_the_book_is_cleaned_to_every_member(everyone: dict[str, Client]) -> None:
    for who in ("keeper", "colleague", "coordinator", "stranger"):
        page = text_of(everyone[who].get(KEPT))
        for row in retention():
            assert f"{row.what} {row.how_long}. {row.why}" in page, who


def test_it_says_what_the_log_holds_as_the_log_has_it(
    everyone: dict[str, Client], keeper: Member, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level("INFO")
    login = {"login": keeper.email, "password": "not-the-password"}
    Client().post(reverse("account_login"), login, REMOTE_ADDR="198.51.100.7")
    everyone["keeper"].get("/cars/QA51ABC/no-such-page/")
    assert f"for member {keeper.pk}, from 198.51.100.7" in caplog.text
    assert "/cars/QA51ABC/no-such-page/" in caplog.text
    page = text_of(everyone["keeper"].get(KEPT))
    assert "from which address on the internet" in page
    assert "in which a car's registration can stand" in page
    assert "no address, no sum" not in page


def test_it_says_when_each_sort_was_last_cleaned(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["keeper"].get(KEPT))
    assert "the first is still to come" in page
    assert page.count("Not cleaned yet.") == sum(row.clean is not None for row in retention())
    InvitationFactory.create(expires_at=datetime(2025, 3, 1, tzinfo=UTC))
    clean_up(datetime(2026, 3, 16, 4, 45, tzinfo=UTC))
    page = text_of(everyone["keeper"].get(KEPT))
    assert "last on 16 March 2026 at 04:45" in page
    assert "Last cleaned on 16 March 2026: 1 deleted." in page
    assert "Not cleaned yet." not in page


@pytest.mark.parametrize("page", ["costing:more", "instructors:record", "instructors:settings"])
def test_it_is_linked(everyone: dict[str, Client], page: str) -> None:
    assert KEPT in everyone["coordinator"].get(reverse(page)).content.decode()
