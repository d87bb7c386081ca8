"""Every address of the site, and the page that one of them has for a thing of the book."""

import re
from collections import deque
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.http.response import HttpResponseBase
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from fleet.models import Car, Defect, DueItem
from fleet.queries import secret_of
from fleet.reminders.nudges import off_address
from instructors.models import Member
from tests.costing.offered import pcp_and_rental
from tests.costing.receipts import kept
from tests.factories import (
    AgreementFactory,
    BatchFactory,
    CompletionFactory,
    DefectFactory,
    DefectStepFactory,
    DueItemFactory,
    FillFactory,
    InvitationFactory,
    OdometerReadingFactory,
    PaperFactory,
    PhotoFactory,
    PotBillFactory,
    RepeatFactory,
    TakingsFactory,
    ValuationFactory,
    WalkaroundCheckFactory,
)

_PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>|\(\?P<(\w+)>[^)]*\)")


def routes(resolver: URLResolver | None = None, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    """Each address as its url patterns write it, with the pattern."""
    for pattern in (resolver or get_resolver()).url_patterns:
        route = before + str(pattern.pattern).replace("^", "").rstrip("$")
        if isinstance(pattern, URLResolver):
            yield from routes(pattern, route)
        else:
            yield route, pattern


def filled_in(route: str, words: Mapping[str, object]) -> str:
    """The path of a route whose parameters have these values; "none" for others."""
    return "/" + _PARAMETER.sub(lambda part: str(words.get(part[1] or part[2], "none")), route)


def start_of(route: str, starts: Mapping[str, object]) -> str:
    """The longest of ``starts`` with which a route begins; empty if there is none."""
    return max((start for start in starts if route.startswith(start)), key=len, default="")


def one_of_each(car: Car, coordinator: Member) -> dict[str, Any]:
    """Make one of each thing of the car and its keeper that has a page; by how the addresses of those begin."""
    keeper, today = car.keeper, timezone.localdate()
    comparison = pcp_and_rental(keeper)
    mot = DueItem.objects.filter(car=car, kind="mot").first() or DueItemFactory(car=car, kind="mot", due_on=today)
    reading = car.odometer_readings.first() or OdometerReadingFactory(car=car, read_on=today - timedelta(days=9))
    return {
        "cars/<str:mark>/readings/": reading.pk,
        "cars/<str:mark>/agreement/": AgreementFactory(car=car).pk,
        "cars/<str:mark>/valuation/": ValuationFactory(car=car).pk,
        "batches/": BatchFactory(member=keeper).pk,
        "repeats/": RepeatFactory(car=car).pk,
        "takings/": TakingsFactory(member=keeper).pk,
        "pot/bills/": PotBillFactory(member=keeper, due_on=today + timedelta(days=60)).pk,
        "log-mail/": off_address(keeper).rstrip("/").rpartition("/")[2],
        "entries/": (fill := FillFactory.create(car=car, member=keeper, filled_on=today - timedelta(days=3))).pk,
        "receipts/": kept(fill)[0].pk,
        "papers/": PaperFactory(member=keeper).pk,
        "next-car/": comparison.pk,
        "next-car/offers/": comparison.offers.first().pk,
        "defects/": DefectFactory(car=car).pk,
        "checks/": WalkaroundCheckFactory(car=car).pk,
        "due/": mot.pk,
        "done/": CompletionFactory(due_item=mot).pk,
        "put-right/": _waiting(),
        "photos/": PhotoFactory(car=car, image=ContentFile(b"a picture", "brake.jpg"), is_of_defect=True).pk,
        "people/": keeper.pk,
        "people/invitations/": InvitationFactory(invited_by=coordinator).pk,
    }


def _waiting() -> str:
    """The secret of a danger of another car that is said to be over and waits for a second member."""
    defect = DefectFactory.create(severity="dangerous")
    step = DefectStepFactory.create(defect=defect, state="waiting", words="New hose", done_by="Wharf Lane Motors")
    Defect.objects.filter(pk=defect.pk).update(state="waiting")
    return secret_of(step)


def address_of(route: str, known: Mapping[str, Any]) -> str:
    """The address of a route for the car QA51ABC and the things that ``one_of_each`` made."""
    number = known.get(start_of(route, known), 1)
    words = {"mark": "QA51ABC", "pk": number, "kind": "fill", "step": "car", "name": "teach"}
    words |= {"token": number, "ref": "7b1f3f0e-38b5-4b64-9d0b-0f3a5b0a4f11", "group": "outside"}
    words |= {"on": timezone.localdate().isoformat()}
    return filled_in(route, words)


def answers_to(client: Client, known: Mapping[str, Any]) -> dict[str, str]:
    """What each route has for whoever asks with ``client``: the address of a page, "no page" or "nothing"."""
    found = {}
    for route, _ in routes():
        address = address_of(route, known)
        answer = client.get(address)
        body = b"".join(answer) if answer.streaming else answer.content
        if answer.status_code == 200 and b"<html" in body:
            found[route] = address
        else:
            # A file or a fragment, or an address that is only ever sent to.
            found[route] = "no page" if answer.status_code in {200, 405} else "nothing"
    return found


def pages_for(client: Client, known: Mapping[str, Any]) -> list[str]:
    """The address of every page of the site that opens for whoever asks with ``client``."""
    return [address for address in answers_to(client, known).values() if address.startswith("/")]


def taken(answer: HttpResponseBase) -> None:
    """Take a download to its end: until then it holds a file open, and to close it would close the connection too."""
    if answer.streaming:
        deque(answer.streaming_content, maxlen=0)  # type: ignore[attr-defined]  # of a streaming answer
