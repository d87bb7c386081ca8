"""What the tests of the pages about tyres share."""

from datetime import date
from decimal import Decimal

from django.test import Client
from django.urls import reverse

from fleet.models import Car
from tests.factories import OdometerReadingFactory, TreadReadingFactory


def page_of(client: Client, name: str = "tread", mark: str = "QA51ABC") -> str:
    """The text of a page about tyres, its white space made one."""
    response = client.get(reverse(f"fleet:{name}", args=[mark]))
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def read(car: Car, wheel: str, read_on: date, mm: str) -> None:
    """A reading of one wheel with the same depth all over."""
    depths = dict.fromkeys(("inner", "centre", "outer"), Decimal(mm))
    TreadReadingFactory.create(car=car, wheel=wheel, read_on=read_on, **depths)


def driven(car: Car) -> None:
    """20 miles a day from 28 August 2025 until today: 40,000 to 44,000 miles in 200 days."""
    OdometerReadingFactory.create(car=car, read_on=date(2025, 8, 28), miles=40_000)
    OdometerReadingFactory.create(car=car, read_on=date(2026, 3, 16), miles=44_000)
