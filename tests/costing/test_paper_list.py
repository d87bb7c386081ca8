"""The page /papers/: a member's own papers, with what each is and how far."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Member
from tests.costing.papers import asked, made

pytestmark = pytest.mark.usefixtures("today", "files_folder")


def test_it_has_the_member_s_own_with_the_way_to_each(
    everyone: dict[str, Client], keeper: Member, colleague: Member
) -> None:
    ready, waiting = made(keeper), asked(keeper, kind="year", state="making", page=2, pages=12)
    other = made(colleague)
    found = everyone["keeper"].get(reverse("costing:paper-list")).content.decode()
    for paper in (ready, waiting):
        assert reverse("costing:paper", args=[paper.pk]) in found
    assert reverse("costing:paper-file", args=[ready.pk]) in found
    assert reverse("costing:paper-file", args=[waiting.pk]) not in found
    assert "My year, March 2021 to February 2026" in found
    assert "Page 2 of about 12" in found
    assert str(other.pk) not in found


def test_without_any_it_says_what_they_are(everyone: dict[str, Client]) -> None:
    found = everyone["keeper"].get(reverse("costing:paper-list")).content.decode()
    assert "No papers" in found
    assert reverse("costing:paper-list") in everyone["keeper"].get(reverse("costing:more")).content.decode()
