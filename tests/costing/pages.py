"""What the tests of the costing pages share: forms as a browser sends them."""

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.test import Client

from costing.models import FillUnit
from fleet.models import Car
from tests.factories import AgreementFactory, FillFactory, OdometerReadingFactory, TeachingRecordFactory

HTMX = {"HX-Request": "true"}


def new_ref() -> str:
    return str(uuid4())


def fill_data(car: Car, **changes: Any) -> dict[str, Any]:
    """A fill as the form sends it."""
    typed = {
        "ref": new_ref(),
        "car": car.registration,
        "amount": "47.92",
        "quantity": "34.5",
        "odometer": "48210",
        "filled_on": "2026-03-16",
        "brimmed": "on",
    }
    return typed | changes


def cost_data(car: Car, **changes: Any) -> dict[str, Any]:
    """A cost as the form sends it."""
    typed = {
        "ref": new_ref(),
        "car": car.registration,
        "category": "repairs",
        "amount": "86.40",
        "paid_on": "2026-03-16",
    }
    return typed | changes


def week_data(car: Car, **changes: Any) -> dict[str, Any]:
    """A week of lessons as the form sends it: that of 9 March 2026, Monday to Saturday."""
    typed = {
        "ref": new_ref(),
        "car": car.registration,
        "week": "2026-03-09",
        "how": "",
        "lesson_minutes": "75",
        **{f"day_{number}": str(lessons) for number, lessons in enumerate((6, 5, 6, 0, 6, 3))},
        "day_6": "",
        "hours": "",
        "private_miles": "40",
    }
    return typed | changes


def takings_data(car: Car, **changes: Any) -> dict[str, Any]:
    """The takings of the week of 9 March 2026 as the form sends them; they are of no car."""
    return {"ref": new_ref(), "from_on": "2026-03-09", "amount": "840"} | changes


def lessons_data(**changes: Any) -> dict[str, Any]:
    """One record of lessons as the form that puts it right sends it."""
    typed = {"lesson_count": "4", "minutes": "6", "from_on": "2026-03-16", "to_on": "", "private_miles": "0"}
    return typed | changes


def save(client: Client, address: str, sent: Mapping[str, Any], **options: Any) -> Any:
    """The answer to a form once the member has said that all is right which the book asks about."""
    right: list[str] = []
    while True:
        response = client.post(address, {**sent, "is_right": " ".join(right)}, **options)
        form = response.context["form"] if response.status_code == 200 and "form" in (response.context or {}) else None
        asked = [question.key for question in form.questions.values()] if form and not form.errors else []
        if not set(asked) - set(right):
            return response
        right += asked


def shown(client: Client, address: str, **options: Any) -> str:
    """The page at an address, with single spaces and the entities of quotation marks undone."""
    response = client.get(address, **options)
    assert response.status_code == 200
    return text_of(response)


def text_of(response: Any) -> str:
    """What a response says, without its tags and with single spaces."""
    page = response.content.decode()
    without_tags = re.sub(r"<[^>]+>", " ", page)
    plain = without_tags.replace("&#x27;", "'").replace("&quot;", '"').replace("&amp;", "&")
    return re.sub(r"\s+", " ", plain)


def input_value(page: str, name: str) -> str | None:
    """The value of the input called ``name`` in a page's HTML; None if it has none."""
    tag = re.search(rf'<input[^>]*\bname="{name}"[^>]*>', page)
    value = tag and re.search(r'\bvalue="([^"]*)"', tag[0])
    return value[1] if value else None


def teach_february(car: Car) -> None:
    """Make February 2026 of a car wholly known: 600 miles, 36 hours in 24 lessons, £60 of fuel, free hire."""
    OdometerReadingFactory(car=car, read_on=car.in_service_from, miles=21_400)
    FillFactory(car=car, filled_on="2026-01-31", odometer=47_000, unit=FillUnit.LITRE, amount="55.00")
    FillFactory(car=car, filled_on="2026-02-28", odometer=47_600, unit=FillUnit.LITRE, amount="60.00")
    TeachingRecordFactory(
        car=car, from_on="2026-02-01", to_on="2026-02-28", lesson_count=24, minutes=36 * 60, private_miles=0
    )
    AgreementFactory(
        car=car,
        starts_on=car.in_service_from - timedelta(days=1),
        kind="contract_hire",
        price=None,
        deposit=None,
        payment="0.00",
        payments=48,
    )
