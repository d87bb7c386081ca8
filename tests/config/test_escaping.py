"""What members write is shown as they wrote it: escaped for HTML, once."""

import re

import pytest
from django.test import Client

from fleet.models import Car, CheckPoint, Defect, DueItem
from instructors.models import Cooperative, Invitation, Member
from tests.addresses import address_of, one_of_each, routes

#: All that HTML writes otherwise.
WORDS = """O'Neill & "Sons" <b>"""
#: What is escaped a second time, such as &amp;#x27;; or not at all.
TWICE_OR_NEVER = re.compile(r"&amp;(?:amp|lt|gt|quot|#x?\w+);|Sons\" <b>")


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_no_page_escapes_twice_or_not_at_all(
    who: str, everyone: dict[str, Client], car: Car, coordinator: Member
) -> None:
    known = one_of_each(car, coordinator)
    Cooperative.objects.create(name=WORDS)
    Member.objects.update(name=WORDS)
    Invitation.objects.update(name=WORDS)
    Car.objects.update(description=WORDS)
    Defect.objects.update(description=WORDS)
    DueItem.objects.update(note=WORDS)
    CheckPoint.objects.update(words=WORDS, look_for=WORDS)
    named = 0
    for route, _ in routes():
        answer = everyone[who].get(address_of(route, known))
        if answer.streaming:
            b"".join(answer)  # a photo, which closes its file
        elif answer.status_code == 200 and answer.headers["Content-Type"].startswith("text/html"):
            page = answer.content.decode()
            named += "O&#x27;Neill &amp; &quot;Sons&quot; &lt;b&gt;" in page
            assert not TWICE_OR_NEVER.search(page), f"{route}: {TWICE_OR_NEVER.search(page)}"
    assert named > 10


def test_what_is_said_once_is_escaped_once(everyone: dict[str, Client], car: Car, coordinator: Member) -> None:
    invitation = one_of_each(car, coordinator)["people/invitations/"]
    Invitation.objects.update(name=WORDS)
    page = everyone["coordinator"].post(f"/people/invitations/{invitation}/withdraw/", follow=True).content.decode()
    assert "Invitation to O&#x27;Neill &amp; &quot;Sons&quot; &lt;b&gt; withdrawn" in page
