"""Pages are sent compressed, with a length that varies; pages that show a secret, and files, as they are."""

import gzip
import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal.auth import TOTP
from django.http import HttpResponse
from django.template import Context, Template
from django.test import Client, RequestFactory
from django.urls import reverse

from config.compression import COMPRESSED, CompressedPagesMiddleware
from config.logs import BEFORE_A_SECRET
from fleet.actions import close_defect
from fleet.models import Car
from instructors.models import Member
from tests.addresses import address_of, filled_in, one_of_each, routes
from tests.factories import CarFactory, DefectFactory, InvitationFactory
from tests.fleet.defects import done
from tests.instructors.test_session_list import PC, signed_in_on
from tests.mailserver import MailServer

GZIP = {"accept-encoding": "gzip, br"}


def is_compressed(answer: Any) -> bool:
    return answer.headers.get("Content-Encoding") == "gzip"


def test_every_page_is_compressed_unless_it_says_that_it_may_not_be(
    everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    known, seen = one_of_each(car, coordinator), 0
    for route, _ in routes():
        address = address_of(route, known)
        answer = everyone["coordinator"].get(address, headers=GZIP)
        is_page = answer.headers.get("Content-Type", "").startswith(COMPRESSED)
        may_be = is_page and "no-transform" not in answer.headers["Cache-Control"]
        if answer.streaming or not may_be:
            assert not is_compressed(answer), address
        elif is_compressed(answer):
            seen += 1
            assert "Accept-Encoding" in answer.headers["Vary"], address
            assert len(answer.content) < len(gzip.decompress(answer.content)), address
        else:
            assert len(answer.content) < 200, address
        if answer.streaming:
            b"".join(answer)  # which closes its file
    assert seen > 50


def test_a_browser_that_takes_nothing_compressed_gets_the_page_as_it_is(everyone: dict[str, Client]) -> None:
    answer = everyone["anonymous"].get(reverse("account_login"))
    assert not is_compressed(answer)
    assert answer.content.rstrip().endswith(b"</html>")


def test_what_a_script_is_told_is_compressed_too(everyone: dict[str, Client], car: Car) -> None:
    answer = everyone["keeper"].get(reverse("costing:kit"), headers=GZIP)
    assert is_compressed(answer)
    assert json.loads(gzip.decompress(answer.content))["cars"][0]["mark"] == car.registration


def test_the_same_words_have_another_length_each_time() -> None:
    page = HttpResponse("<p>The same words.</p>" * 100)
    middleware = CompressedPagesMiddleware(lambda request: HttpResponse(page.content))
    answers = [middleware(RequestFactory().get("/", headers=GZIP)).content for _ in range(20)]
    assert {gzip.decompress(answer) for answer in answers} == {page.content}
    assert len({len(answer) for answer in answers}) > 5


def test_a_page_leaves_its_indentation_behind_and_nothing_that_was_typed() -> None:
    typed = "<textarea>\n  a\n\n  b\n</textarea><textarea>\n   </textarea>"
    page = HttpResponse(f"<ul>\n    <li>  two  words </li>\n\n  <li>{typed}</li>\n</ul>\n" * 9)
    middleware = CompressedPagesMiddleware(lambda request: HttpResponse(page.content))
    answer = middleware(RequestFactory().get("/", headers=GZIP))
    kept = f"<ul>\n<li>  two  words </li>\n<li>{typed}</li>\n</ul>\n" * 9
    assert gzip.decompress(answer.content) == kept.encode()
    assert answer.headers["Content-Length"] == str(len(answer.content))
    assert middleware(RequestFactory().get("/")).content == page.content


def test_a_tag_leaves_its_indentation_behind_and_nothing_that_was_typed() -> None:
    typed = Template('<p>{{ it }}</p><textarea>{{ it }}</textarea><i title="{{ it }}">').render(
        Context({"it": 'a\n   b="c"\n   > d\n   e'})
    )
    page = '<input type="radio"\n    value="a"\n       required\n    data-b=""\n    >' + typed
    middleware = CompressedPagesMiddleware(lambda request: HttpResponse(page * 9))
    answer = middleware(RequestFactory().get("/", headers=GZIP))
    kept = '<input type="radio" value="a"\n       required data-b="" >' + typed
    assert gzip.decompress(answer.content) == kept.encode() * 9


@pytest.mark.parametrize("kind", ["application/pdf", "image/jpeg", "text/calendar", "text/plain"])
def test_what_is_no_page_is_sent_as_it_is(kind: str) -> None:
    middleware = CompressedPagesMiddleware(lambda request: HttpResponse("the same " * 99, content_type=kind))
    answer = middleware(RequestFactory().get("/", headers=GZIP))
    assert not is_compressed(answer)
    assert "Vary" not in answer.headers


def test_few_words_are_sent_as_they_are() -> None:
    middleware = CompressedPagesMiddleware(lambda request: HttpResponse("<p>Done</p>"))
    assert not is_compressed(middleware(RequestFactory().get("/", headers=GZIP)))


# --- Pages that show a secret -----------------------------------------------------------------------------

Opened = tuple[Any, str]


def an_invitation_s_link(coordinator: Member, smtp_server: MailServer) -> Opened:
    """That no mail server took, so that the coordinator passes it on."""
    invitation = InvitationFactory(invited_by=coordinator)
    smtp_server.refuse_next(1)
    address = reverse("instructors:invitation-send", args=[invitation.pk])
    answer = signed_in_on(coordinator, PC).post(address, headers=GZIP)
    return answer, re.search(r"/invitation/([\w-]+)/", answer.content.decode())[1]


def a_new_invitation_s_link(coordinator: Member, smtp_server: MailServer) -> Opened:
    smtp_server.refuse_next(1)
    typed = {"name": "Somebody New", "email": "new@book.example", "grade": "ADI", "role": "member"}
    answer = signed_in_on(coordinator, PC).post(reverse("instructors:invite"), typed, headers=GZIP)
    return answer, re.search(r"/invitation/([\w-]+)/", answer.content.decode())[1]


def a_calendar_s_address(coordinator: Member, smtp_server: MailServer) -> Opened:
    answer = signed_in_on(coordinator, PC).post(reverse("fleet:calendar-feeds"), {"scope": "own"}, headers=GZIP)
    return answer, re.search(r"/calendar/([\w-]+)\.ics", answer.content.decode())[1]


def the_key_of_an_authenticator_app(coordinator: Member, smtp_server: MailServer) -> Opened:
    answer = signed_in_on(coordinator, PC).get(reverse("mfa_activate_totp"), headers=GZIP)
    return answer, re.search(r'id="authenticator_secret">(\w+)<', answer.content.decode())[1]


def the_recovery_codes(coordinator: Member, smtp_server: MailServer, name: str = "mfa_view_recovery_codes") -> Opened:
    client = signed_in_on(coordinator, PC)
    TOTP.activate(coordinator, "JBSWY3DPEHPK3PXP")
    RecoveryCodes.activate(coordinator)
    answer = client.get(reverse(name), headers=GZIP)
    return answer, re.search(r"\b\d{8}\b", answer.content.decode())[0]


def the_recovery_codes_as_a_file(coordinator: Member, smtp_server: MailServer) -> Opened:
    return the_recovery_codes(coordinator, smtp_server, "mfa_download_recovery_codes")


def the_link_for_a_second_member(coordinator: Member, smtp_server: MailServer) -> Opened:
    defect = DefectFactory.create(car=CarFactory.create(keeper=coordinator), severity="dangerous")
    close_defect(by=coordinator, defect=defect, **done(closed_on=defect.found_on))
    answer = signed_in_on(coordinator, PC).get(reverse("fleet:defect", args=[defect.pk]), headers=GZIP)
    return answer, re.search(r"/put-right/([\w.-]+)/", answer.content.decode())[1]


SHOWN = [
    an_invitation_s_link,
    a_new_invitation_s_link,
    a_calendar_s_address,
    the_key_of_an_authenticator_app,
    the_recovery_codes,
    the_recovery_codes_as_a_file,
    the_link_for_a_second_member,
]


@pytest.mark.parametrize("open_it", SHOWN, ids=lambda one: one.__name__)
def test_a_page_that_shows_a_secret_is_sent_as_it_is(
    open_it: Callable[[Member, MailServer], Opened], coordinator: Member, smtp_server: MailServer
) -> None:
    answer, secret = open_it(coordinator, smtp_server)
    assert answer.status_code == 200
    assert len(secret) >= 8
    assert secret in answer.content.decode()
    assert not is_compressed(answer)
    assert {"no-transform", "no-store", "private"} <= set(re.split(r",\s*", answer.headers["Cache-Control"]))


def test_so_is_every_page_at_a_secret_address(db: None) -> None:
    """A page may come to repeat its own address. A calendar is no page."""
    starts = re.compile(rf"({'|'.join(BEFORE_A_SECRET)})/[<(]")
    secret = [route for route, _ in routes() if starts.match(route) and not route.endswith(".ics")]
    assert len(secret) == 4
    for route in secret:
        answer = Client().get(filled_in(route, {}), headers=GZIP)
        assert answer.headers["Content-Type"].startswith("text/html"), route
        assert not is_compressed(answer), route
