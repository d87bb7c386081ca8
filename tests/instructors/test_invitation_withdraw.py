"""Withdrawing an invitation."""

import pytest
from django.test import Client
from django.urls import reverse

from instructors.models import Invitation
from instructors.queries import token_digest
from tests.factories import InvitationFactory

LINK_END = "a-token-of-a-test"


@pytest.fixture
def invitation(db: None) -> Invitation:
    return InvitationFactory(token_digest=token_digest(LINK_END), expires_at="2999-01-01T09:00Z")


def path_of(invitation: Invitation) -> str:
    return reverse("instructors:invitation-withdraw", args=[invitation.pk])


@pytest.mark.parametrize(
    ("who", "status"), [("keeper", 404), ("colleague", 404), ("stranger", 404), ("anonymous", 302)]
)
def test_only_a_coordinator_withdraws(
    everyone: dict[str, Client], invitation: Invitation, who: str, status: int
) -> None:
    assert everyone[who].post(path_of(invitation)).status_code == status
    invitation.refresh_from_db()
    assert invitation.withdrawn_at is None


def test_a_get_withdraws_nothing(everyone: dict[str, Client], invitation: Invitation) -> None:
    assert everyone["coordinator"].get(path_of(invitation)).status_code == 405


def test_a_withdrawn_link_works_no_more(everyone: dict[str, Client], invitation: Invitation) -> None:
    link = reverse("instructors:accept-invitation", args=[LINK_END])
    assert everyone["anonymous"].get(link).status_code == 200
    everyone["coordinator"].post(path_of(invitation))
    assert everyone["anonymous"].get(link).status_code == 410


def test_withdrawing_twice_keeps_the_first_moment(everyone: dict[str, Client], invitation: Invitation) -> None:
    everyone["coordinator"].post(path_of(invitation))
    invitation.refresh_from_db()
    first = invitation.withdrawn_at
    page = everyone["coordinator"].post(path_of(invitation), follow=True).content.decode()
    assert "has been withdrawn" in page
    invitation.refresh_from_db()
    assert invitation.withdrawn_at == first


def test_an_accepted_invitation_cannot_be_withdrawn(everyone: dict[str, Client]) -> None:
    accepted = InvitationFactory(accepted_at="2026-03-12T09:00Z")
    assert (
        "has accepted this invitation" in everyone["coordinator"].post(path_of(accepted), follow=True).content.decode()
    )
    accepted.refresh_from_db()
    assert accepted.withdrawn_at is None
