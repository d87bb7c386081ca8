"""A phone-sized browser on the live book, signed in as whom a test wants, and the data it looks at."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from allauth.account.internal.flows.login import record_authentication
from django.conf import settings
from django.http import HttpRequest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Browser, BrowserContext, Page, expect

from costing.core.periods import last_ended_month
from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    AgreementFactory,
    CarFactory,
    CostEntryFactory,
    DueItemFactory,
    FillFactory,
    GroupFigureFactory,
    OdometerReadingFactory,
    ReminderMailFactory,
    ReminderRunFactory,
    TeachingRecordFactory,
    ValuationFactory,
)

PHONE = {"width": 390, "height": 844}
PASSWORD = "a long enough phrase 7"  # noqa: S105 - of a made-up member
OpenPage = Callable[..., Page]
#: Milliseconds that a machine with much else to do may take; a quick one waits for none of them.
PATIENCE = 30_000
expect.set_options(timeout=PATIENCE)


def signed_in(member: Member) -> Client:
    """A client in which ``member`` has just shown by password that it is them."""
    client = Client()
    client.force_login(member)
    request = HttpRequest()
    request.session, request.user = client.session, member
    record_authentication(request, member, method="password", email=member.email)
    request.session.save()
    return client


@pytest.fixture(scope="session")
def browser_type_launch_args() -> dict[str, Any]:
    """Debian's Chromium, which is what is installed here, kept from calling anybody."""
    return {
        "executable_path": "/usr/bin/chromium",
        "args": [
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
        ],
    }


@pytest.fixture
def open_page(live_server: Any, browser: Browser) -> Any:
    """A function that opens a page as a member, on a phone.

    ``script=False`` for a browser without any, ``worker=False`` for one that asks the book for every page; ``density``
    is the pixels of its screen to one of a page.
    """
    contexts: list[BrowserContext] = []

    def open_page(
        member: Member | None = None, *, script: bool = True, worker: bool = True, density: int = 1, **size: int
    ) -> Page:
        context = browser.new_context(
            base_url=live_server.url,
            viewport=PHONE | size,
            device_scale_factor=density,
            has_touch=True,
            is_mobile=True,
            locale="en-GB",
            java_script_enabled=script,
            service_workers="allow" if worker else "block",
        )
        contexts.append(context)
        if member:
            cookie = signed_in(member).cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": live_server.url}])
        page = context.new_page()
        page.set_default_timeout(PATIENCE)
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def member(transactional_db: None, keeper: Member) -> Member:
    """The keeper, with a password to sign in by."""
    keeper.set_password(PASSWORD)
    keeper.save()
    return keeper


@pytest.fixture
def taught_car(member: Member) -> Car:
    """A car whose last closed month is wholly known; hired for nothing: fuel alone is its cost."""
    month = last_ended_month(timezone.localdate())
    car = CarFactory(registration="QA51ABC", keeper=member, in_service_from=month.first - timedelta(days=400))
    OdometerReadingFactory(car=car, read_on=month.first - timedelta(days=1), miles=47_000)
    FillFactory(car=car, filled_on=month.first - timedelta(days=1), odometer=47_000)
    FillFactory(car=car, filled_on=month.first + timedelta(days=9), odometer=47_200, amount="30.00")
    FillFactory(car=car, filled_on=month.last, odometer=47_600, amount=0)
    TeachingRecordFactory(
        car=car, from_on=month.first, to_on=month.last, lesson_count=20, minutes=30 * 60, private_miles=0
    )
    AgreementFactory(
        car=car,
        starts_on=car.in_service_from,
        kind="contract_hire",
        price=None,
        deposit=None,
        payment=0,
        payments=60,
    )
    return car


@pytest.fixture
def full_book(taught_car: Car, coordinator: Member) -> Car:
    """A book in which every page has something to show, and the car is off the road."""
    car, today = taught_car, timezone.localdate()
    month = last_ended_month(today)
    CostEntryFactory(car=car, paid_on=month.first, supplier="A garage with quite a long name, in the next valley")
    CostEntryFactory(
        car=car,
        paid_on=month.first,
        category="insurance",
        amount="1234.56",
        covers_from=month.first,
        covers_to=month.first + timedelta(days=364),
    )
    CostEntryFactory(car=car, paid_on=month.first, voided_at=timezone.now())
    ValuationFactory(car=car, valued_on=month.first)
    for span in ("month", "year"):
        _close(month.first, span)
    for kind, days in {"mot": -3, "insurance": 12, "service": 40}.items():
        DueItemFactory(car=car, kind=kind, due_on=today + timedelta(days=days))
    DueItemFactory(car=None, member=car.keeper, kind="adi_registration", due_on=today + timedelta(days=80))
    ReminderRunFactory(day=today, started_at=timezone.now(), finished_at=timezone.now())
    ReminderMailFactory(recipient=car.keeper, day=today, last_error="451 try again later")
    return car


def _close(month: date, span: str) -> None:
    GroupFigureFactory(
        month=month,
        span=span,
        contributor_count=9,
        lower_quartile_cost_per_lesson_hour="6.00",
        upper_quartile_cost_per_lesson_hour="7.80",
    )
