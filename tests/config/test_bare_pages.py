"""Pages for when something is broken: they ask for no database, no session and no list of static files."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.test import Client, RequestFactory
from django.urls import reverse

from config.broken import broken
from instructors.models import Member

PAGES = {
    "400.html": {},
    "403_csrf.html": {},
    "405.html": {},
    "500.html": {},
    "full.html": {},
    "sign_in_first.html": {},
    "try_again.html": {},
    "too_large.html": {"most": 40},
}


@pytest.fixture
def without_files(settings: Any, tmp_path: Path) -> None:
    """A server on which nobody has collected the static files."""
    settings.STATIC_ROOT = tmp_path
    settings.STORAGES = settings.STORAGES | {"staticfiles": {"BACKEND": "config.lean.LeanStaticFiles"}}


@pytest.mark.parametrize("name", PAGES)
def test_it_has_the_look_without_asking_for_anything(name: str, without_files: None) -> None:
    page = render_to_string(name, PAGES[name])
    assert '<link rel="stylesheet" href="/static/app.css">' in page
    for address in re.findall(r'(?:href|src)="/static/([^"#]+)', page):
        assert finders.find(address), address
    assert page.count("<h1>") == 1
    assert 'href="/">Go to the start page' in page
    assert not re.search(r"<script|<style|style=|csrf", page)


def test_an_error_is_answered_so(without_files: None) -> None:
    answer = broken(RequestFactory().get("/"))
    assert answer.status_code == 500
    assert "<h1>Something went wrong</h1>" in answer.content.decode()


def test_a_form_of_a_page_from_before_signing_in_anew_says_so(keeper: Member) -> None:
    member = Client(enforce_csrf_checks=True)
    member.force_login(keeper)
    answer = member.post(reverse("costing:fill-log"))
    assert answer.status_code == 403
    assert "<h1>This page is out of date</h1>" in answer.content.decode()


def test_an_address_without_a_page_of_its_own_says_so(everyone: dict[str, Client]) -> None:
    answer = everyone["keeper"].get(reverse("costing:comparison-start"))
    assert answer.status_code == 405
    assert answer.headers["Allow"] == "POST"
    assert "<h1>There is no page to look at here</h1>" in answer.content.decode()
