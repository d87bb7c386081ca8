"""The command sign_out: one member, or everybody, is signed out wherever they are."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from config.commands import DataSaysNo
from instructors.models import Member
from tests.instructors.test_session_list import PC, PHONE, SESSIONS, signed_in_on


def sign_out(*arguments: str) -> str:
    out = StringIO()
    call_command("sign_out", *arguments, stdout=out)
    return out.getvalue()


def test_a_member_is_signed_out_everywhere_and_nobody_else(keeper: Member, colleague: Member) -> None:
    theirs, other = [signed_in_on(keeper, PHONE), signed_in_on(keeper, PC)], signed_in_on(colleague, PC)
    assert json.loads(sign_out("Keeper@book.example", "--json")) == {"member": keeper.email, "ended": 2}
    assert [client.get(SESSIONS).status_code for client in [*theirs, other]] == [302, 302, 200]
    assert signed_in_on(keeper, PC).get(SESSIONS).status_code == 200


def test_everybody_is(keeper: Member, colleague: Member) -> None:
    clients = [signed_in_on(keeper, PHONE), signed_in_on(colleague, PC)]
    assert "Sessions ended: 2" in sign_out("--everybody")
    assert [client.get(SESSIONS).status_code for client in clients] == [302, 302]


def test_it_must_be_said_who(db: None) -> None:
    for arguments in ([], ["keeper@book.example", "--everybody"]):
        with pytest.raises(CommandError) as refused:
            sign_out(*arguments)
        assert refused.value.returncode == 2
    with pytest.raises(DataSaysNo):
        sign_out("nobody@book.example")
