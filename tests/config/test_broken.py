"""What is answered when something fails: by what it was, to a page and to a form, and never with a secret in it."""

import errno
import re
import sqlite3
from typing import Any

import psycopg
import pytest
from django.db import InterfaceError, OperationalError, connection, transaction
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import CsrfViewMiddleware
from django.test import Client, RequestFactory
from django.urls import reverse

from config.broken import broken, is_full, is_out_of_reach
from config.page import PageMiddleware, may_have_saved
from config.postgresql.base import CommitUnclear
from config.whole_files import StoreAway
from fleet.models import Car, Defect


def caused(cause: Exception) -> OperationalError:
    """As Django raises what a driver raised."""
    error = OperationalError(*cause.args)
    error.__cause__ = cause
    return error


@pytest.mark.parametrize(
    ("error", "full", "out_of_reach"),
    [
        (OSError(errno.ENOSPC, "No space left on device"), True, False),
        (OSError(errno.ENOENT, "No such file"), False, False),
        (StoreAway(errno.EIO, "the store cannot be reached"), False, True),
        (caused(psycopg.errors.DiskFull("could not extend file")), True, True),
        (caused(psycopg.errors.AdminShutdown("terminating connection")), False, True),
        (caused(sqlite3.OperationalError("database or disk is full")), True, False),
        (caused(sqlite3.OperationalError("database is locked")), False, True),
        (caused(sqlite3.OperationalError("no such column: wings")), False, False),
        (InterfaceError("connection already closed"), False, True),
        (KeyError("ref"), False, False),
        (None, False, False),
    ],
)
def test_what_failed_is_told_apart(error: Exception | None, full: bool, out_of_reach: bool) -> None:
    assert (is_full(error), is_out_of_reach(error)) == (full, out_of_reach)


def answered(error: Exception, request: HttpRequest) -> HttpResponse:
    try:
        raise error
    except Exception:
        return broken(request)


GONE = caused(psycopg.errors.AdminShutdown("terminating connection"))
FULL = OSError(errno.ENOSPC, "No space left on device")


def words(answer: HttpResponse) -> str:
    return " ".join(answer.content.decode().split())


@pytest.mark.parametrize(
    ("error", "status", "title"),
    [
        (GONE, 503, "Try again in a moment"),
        (FULL, 507, "The server’s disk is full"),
        (KeyError("ref"), 500, "Something went wrong"),
    ],
)
def test_a_page_and_a_form_are_told_what_is_true(error: Exception, status: int, title: str) -> None:
    answer = answered(error, RequestFactory().get("/cars/?page=2"))
    assert (answer.status_code, f"<h1>{title}</h1>" in words(answer)) == (status, True)
    assert "Nothing was lost." in words(answer)
    answer = answered(error, RequestFactory().post("/cars/", {"words": "x"}))
    assert (answer.status_code, "was not saved" in words(answer)) == (status, True)
    answer = answered(error, RequestFactory().get("/cars/", headers={"accept": "application/json"}))
    assert (answer.status_code, answer.content) == (status, b"{}")


def test_a_commit_that_nobody_confirmed_is_not_called_saved_nor_lost() -> None:
    answer = answered(caused(CommitUnclear("gone")), RequestFactory().post("/cars/", {"words": "x"}))
    assert "It may be saved, or not." in words(answer)
    assert "was not saved" not in words(answer)


def from_a_page_of_the_book(typed: dict[str, Any]) -> HttpRequest:
    token = "a" * 32
    request = RequestFactory().post("/defects/new/?from=board", typed | {"csrfmiddlewaretoken": token})
    request.COOKIES["csrftoken"] = token
    CsrfViewMiddleware(lambda _: HttpResponse()).process_request(request)
    return request


def test_what_was_typed_is_in_the_page_but_no_secret() -> None:
    typed = {"words": 'a "b"\n<c>', "several": ["1", "2"], "password": "hidden 1", "new_password1": "hidden 2"}
    page = answered(GONE, from_a_page_of_the_book(typed | {"code": "hidden 3"})).content.decode()
    assert 'action="/defects/new/?from=board"' in page
    assert 'name="words" value="a &quot;b&quot;\n&lt;c&gt;"' in page
    assert re.findall(r'name="several" value="(.)"', page) == ["1", "2"]
    assert "hidden 1" not in page
    assert "hidden 2" not in page
    assert "hidden 3" not in page
    assert "but passwords and codes are not: type them anew" in page
    assert "passwords" not in answered(GONE, from_a_page_of_the_book({"words": "x"})).content.decode()


def test_that_a_password_is_not_kept_is_said_too_where_the_token_came_in_a_header() -> None:
    request = from_a_page_of_the_book({"words": "x", "password": "hidden 1"})
    request.POST = request.POST.copy()
    request.META["HTTP_X_CSRFTOKEN"] = request.POST.pop("csrfmiddlewaretoken")[0]
    page = answered(FULL, request).content.decode()
    assert "hidden 1" not in page
    assert "but passwords and codes are not: type them anew" in page


def test_of_a_form_of_passwords_alone_nothing_is_said_to_be_kept() -> None:
    page = words(answered(FULL, from_a_page_of_the_book({"oldpassword": "hidden 1", "password1": "hidden 2"})))
    assert "Passwords and codes are not kept in this page: type them anew when you are asked." in page
    assert "What you typed is kept" not in page


def test_what_another_site_sent_is_not_offered_to_be_sent_again() -> None:
    request = from_a_page_of_the_book({"words": "planted"})
    request.META["HTTP_ORIGIN"] = "https://elsewhere.example"
    page = answered(GONE, request).content.decode()
    assert "planted" not in page
    assert "<form" not in page


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("is_saved", [True, False])
def test_whether_a_form_was_saved_is_known(car: Car, is_saved: bool) -> None:
    def view(request: HttpRequest) -> HttpResponse:
        with transaction.atomic():
            Car.objects.update(description="Red")
            transaction.set_rollback(not is_saved)
        return HttpResponse(str(may_have_saved(request)))

    answer = PageMiddleware(view)(RequestFactory().post("/"))
    assert answer.content.decode() == str(is_saved)
    assert connection.execute_wrappers == []


@pytest.mark.parametrize("error", [GONE, FULL, KeyError("ref")])
def test_whatever_a_view_raises_is_answered_so(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def fail(**_: object) -> None:
        raise error

    monkeypatch.setattr("fleet.actions.report_defect", fail)
    everyone["keeper"].raise_request_exception = False
    sent = {"ref": "0d8f7a52-5b0e-4a7e-9b07-3f6f3f2b9a01", "description": "Brake hose torn", "severity": "watch"}
    answer = everyone["keeper"].post(
        reverse("fleet:defect-report", args=["QA51ABC"]), sent | {"found_on": "2026-03-16", "found_by": "other"}
    )
    assert answer.status_code >= 500
    assert "was not saved" in words(answer)
    assert 'value="Brake hose torn"' in words(answer)
    assert not Defect.objects.exists()
