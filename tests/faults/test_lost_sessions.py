"""The table of sessions is emptied while a form is open: what was typed is neither lost nor nobody's."""

import pytest
from django.conf import settings
from django.contrib.sessions.models import Session
from django.urls import reverse

from costing.models import Fill
from fleet.models import Car
from instructors.models import Member
from tests.costing.pages import fill_data
from tests.faults.serving import Start, serve, signed_in

pytestmark = pytest.mark.django_db(transaction=True)
PAGE = reverse("costing:fill-log")


def test_the_phone_keeps_what_it_could_not_send_until_its_member_signs_in_again(
    book_process: Start, car: Car, keeper: Member
) -> None:
    port = serve(book_process)
    visitor = signed_in(keeper, port)
    visitor.get(PAGE)
    typed = fill_data(car, filled_on="2026-11-20") | {"csrfmiddlewaretoken": visitor.cookies[settings.CSRF_COOKIE_NAME]}
    visitor.headers |= {"Accept": "application/json", "X-Member": "1"}
    Session.objects.all().delete()
    assert visitor.send(PAGE, **typed).status == 401
    assert not Fill.objects.exists()
    visitor.headers.clear()
    answer = visitor.get(PAGE)
    assert (answer.status, answer.headers["Location"].partition("?")[0]) == (302, reverse("account_login"))
    visitor.cookies |= signed_in(keeper, port).cookies
    for _ in range(2):
        assert visitor.send(PAGE, **typed).status == 303
    assert Fill.objects.get().ref == typed["ref"]
