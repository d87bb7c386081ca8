"""What a password must be, wherever one is chosen."""

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.urls import reverse

from instructors.models import Cooperative
from instructors.queries import token_digest
from instructors.signing_in.passwords import RULES
from tests.factories import CooperativeFactory, InvitationFactory
from tests.instructors.test_accept_invitation import LINK, LINK_END

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _named_cooperative() -> None:
    CooperativeFactory(name="Hollin Vale Instructors' Co-operative")


@pytest.mark.parametrize(
    "password",
    [
        "twelve chars",
        "918273645012",
        "    spaces   only count too   ",
        "ключ від гаража",
        "x" * 64,
        "lorry " * 21,
        # Nothing is asked about the member's own name or address.
        "wren applegarth",
        "keeper@book.example",
        # A name among words of one's own.
        "vale of seven wet kerbstones",
        "car 918273645012",
        # Words of the names that stand in many others.
        "driving instructors drink tea",
        "a cooperative lorry at dusk",
        "tuition by lamplight 7",
    ],
)
def test_a_long_password_of_whatever_kind_will_do(password, keeper):
    validate_password(password, keeper)


@pytest.mark.parametrize(
    ("password", "why"),
    [
        ("eleven char", "at least 12 characters"),
        ("x" * 129, "at most 128 characters"),
        ("qwerty123456", "too common"),
        ("HollinVale2026!!", "name of the co-op"),
        ("hollin-vale-instructors", "name of the co-op"),
        ("Instructors co-operative 1", "name of the co-op"),
        ("tuitioncarbook", "name of the co-op"),
        ("Tuition Car Book 7", "name of the co-op"),
        # A word that stands out in it, whatever else there is.
        ("hollinvale-zofia", "name of the co-op"),
        ("seven wet kerbstones of HOLLIN", "name of the co-op"),
        ("h-o-l-l-i-n kerbstones lamp", "name of the co-op"),
        ("my tuition car book is wet", "name of the co-op"),
        ("vale instructors kerbstones", "name of the co-op"),
    ],
)
def test_what_others_would_try_first_is_refused_in_plain_words(password, why):
    with pytest.raises(ValidationError) as refused:
        validate_password(password)
    assert why in " ".join(refused.value.messages)


def test_the_name_that_counts_is_todays():
    Cooperative.objects.update(name="Three Valleys")
    validate_password("HollinVale2026!!")
    with pytest.raises(ValidationError):
        validate_password("three valleys 1")


def test_every_page_says_the_same_beforehand(client, keeper, today):
    InvitationFactory(token_digest=token_digest(LINK_END))
    assert RULES in client.get(LINK).content.decode()
    keeper.set_password("a long enough phrase 7")
    keeper.save()
    client.force_login(keeper)
    assert RULES in client.get(reverse("account_change_password")).content.decode()
