"""The command forget_factors: a way in for who has lost phone and codes."""

import json
from io import StringIO

import pytest
from allauth.mfa.models import Authenticator
from django.core.management import call_command

from config.commands import DataSaysNo
from instructors.models import Act, Member
from tests.flows.test_signing_in import body_of
from tests.mailserver import MailServer


def forget(email: str, *options: str) -> str:
    out = StringIO()
    call_command("forget_factors", email, *options, stdout=out)
    return out.getvalue()


def test_the_members_factors_are_gone_nobody_elses_and_they_are_told(
    keeper: Member, colleague: Member, smtp_server: MailServer
) -> None:
    for member in (keeper, colleague):
        for kind in ("totp", "recovery_codes"):
            Authenticator.objects.create(user=member, type=kind, data={})
    assert json.loads(forget("Keeper@book.example", "--json")) == {"member": keeper.email, "forgotten": 2}
    assert set(Authenticator.objects.values_list("user", flat=True)) == {colleague.pk}
    [mail] = smtp_server.messages
    assert mail["To"] == keeper.email
    assert "a command on the server" in body_of(mail)
    act = Act.objects.get()
    assert (act.concerns, act.by, act.field, act.mail) == (keeper, None, "factors_forgotten", None)


def test_where_there_was_none_nobody_is_told(keeper: Member, smtp_server: MailServer) -> None:
    assert "Removed: 0." in forget(keeper.email)
    assert smtp_server.messages == []
    assert not Act.objects.exists()


def test_an_unknown_address_is_said_to_be(db: None) -> None:
    with pytest.raises(DataSaysNo, match=r"No member has the address nobody@book\.example"):
        forget("nobody@book.example")
