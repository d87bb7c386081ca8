"""The sheets that are printed, against WeasyPrint's own time for the same HTML."""

from collections.abc import Iterator
from typing import Any
from unittest import mock

import weasyprint
from django.test import Client
from django.urls import reverse

from bench.answers import client_of, coordinator_client, measured_site
from bench.measuring import Call, Figure, alternate, compared
from bench.offers import upload
from fleet.models import Car

ROUNDS = 5


def paper() -> Iterator[Figure]:
    """The board of all cars, what a car must have for lessons, and the decision between six offers."""
    car = Car.objects.select_related("keeper").order_by("pk")[0]
    with measured_site():
        member, coordinator = client_of(car.keeper), coordinator_client()
        ready = reverse("fleet:ready-sheet", args=[car.registration, "teach"])
        decision = reverse("costing:comparison-sheet", args=[upload(member)])
        yield _sheet("the board", coordinator, reverse("fleet:board-sheet"))
        yield _sheet("readiness of one car", member, ready)
        yield _sheet("the decision between six offers", member, decision)


def _sheet(what: str, client: Client, address: str) -> Figure:
    print_again = _printing_again(client, address)
    work, base = alternate(lambda: client.get(address), print_again, rounds=ROUNDS)
    return Figure(compared(f"PDF of {what}", work, "WeasyPrint alone", base))


def _printing_again(client: Client, address: str) -> Call:
    """Ask for a sheet once; the answer prints the same HTML in the same way with WeasyPrint alone."""
    handed_over: list[tuple[dict[str, Any], dict[str, Any]]] = []

    class Listening(weasyprint.HTML):
        def __init__(self, **source: Any) -> None:
            super().__init__(**source)
            self.source = source

        def write_pdf(self, **options: Any) -> bytes:
            handed_over.append((self.source, options))
            return bytes(super().write_pdf(**options))

    with mock.patch.object(weasyprint, "HTML", Listening):
        client.get(address)
    [(source, options)] = handed_over
    return lambda: weasyprint.HTML(**source).write_pdf(**options)
