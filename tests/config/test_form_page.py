"""What a page does with its form: show it, refuse it, or save it and go on."""

import pytest
from django import forms
from django.contrib.messages import get_messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.test import RequestFactory
from django_htmx.middleware import HtmxDetails

from config import quantities
from config.fields import MilesField, NumberField, PoundsField, unmarked, with_unit
from config.form_page import form_page, go_on, page_or_fragment, posted, posted_files, put_refusal


class Miles(forms.Form):
    miles = MilesField(label="Odometer")
    paid = PoundsField(label="Paid", required=False)
    share = with_unit(NumberField(quantities.COUNT.within(most=9, example="5"), label="Share", required=False), "%")
    told = unmarked(MilesField(label="Told", required=False))


def asked(method: str, data: dict[str, str] | None = None) -> HttpRequest:
    request = getattr(RequestFactory(), method)("/", data or {})
    request.session = {}
    request._messages = _Messages()
    return request


class _Messages(list):
    def add(self, level: int, message: str, extra_tags: str = "") -> None:
        self.append((level, message))


def answer(request: HttpRequest, refusal: ValidationError | None = None) -> tuple[HttpResponse, Miles]:
    form = Miles(posted(request), posted_files(request))

    def save() -> HttpResponse:
        if refusal:
            raise refusal
        return go_on(request, "Saved.", "fleet:car-list")

    return form_page(request, "too_large.html", form, save, lambda: {"most": 40}), form


def test_asked_for_it_is_only_shown() -> None:
    response, form = answer(asked("get"))
    assert (response.status_code, form.is_bound) == (200, False)


def test_what_is_not_valid_is_shown_again() -> None:
    response, form = answer(asked("post", {"miles": "many"}))
    assert (response.status_code, list(form.errors)) == (200, ["miles"])


def test_a_save_goes_on_by_get_and_says_so() -> None:
    request = asked("post", {"miles": "48,210"})
    response, _ = answer(request)
    assert (response.status_code, response.headers["Location"]) == (303, "/cars/")
    assert [message for _, message in get_messages(request)] == ["Saved."]


@pytest.mark.parametrize(
    ("refusal", "beside"),
    [
        (ValidationError("No."), "__all__"),
        (ValidationError({"miles": ["No."]}), "miles"),
        (ValidationError({"kind": "No."}), "__all__"),
    ],
)
def test_what_the_action_refuses_stands_beside_its_field(refusal: ValidationError, beside: str) -> None:
    response, form = answer(asked("post", {"miles": "48,210"}), refusal)
    assert (response.status_code, dict(form.errors)) == (200, {beside: ["No."]})


def test_a_refusal_keeps_its_code() -> None:
    form = Miles({"miles": "1"})
    put_refusal(form, ValidationError({"miles": ValidationError("No.", code="future")}))
    assert form.has_error("miles", "future")


@pytest.mark.parametrize(
    ("header", "template"), [({}, "costing/page.html"), ({"HX-Request": "true"}, "costing/_page.html")]
)
def test_htmx_gets_the_fragment(header: dict[str, str], template: str) -> None:
    request = RequestFactory().get("/", headers=header)
    request.htmx = HtmxDetails(request)
    assert page_or_fragment(request, "costing/page.html") == template


def test_a_field_shows_its_own_unit_and_says_it_to_a_screen_reader() -> None:
    form = Miles()
    shown = {field.name: field.as_field_group() for field in form}
    for name, mark in (
        ("miles", '<span class="unit" aria-hidden="true">miles</span>'),
        ("miles", ">, in miles</span>"),
        ("paid", '<span class="pre" aria-hidden="true">£</span>'),
        ("paid", ">, in pounds</span>"),
        ("paid", "<small>optional</small>"),
        ("share", '<span class="unit" aria-hidden="true">%</span>'),
    ):
        assert mark in shown[name], name
    assert "optional" not in shown["miles"] + shown["told"]
