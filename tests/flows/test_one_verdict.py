"""One verdict: every place that speaks of a car says the same of it, in each of twenty states.

A place is a function from the car and the cast's browsers to the text in which it speaks of the car; ``said`` reads the
verdict and the reasons in it. A new place is one more function in ``PLACES``.
"""

import io
import json
import re
from collections.abc import Callable, Mapping

import icalendar
import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from fleet.actions import open_feed, queue_mail
from fleet.core.verdict import Verdict
from fleet.models import Car, FeedScope, MailKind
from fleet.reminders import DeliveryResult, deliver_mail, run_reminders
from instructors.models import Member
from tests.factories import DueItemFactory
from tests.fleet.reminding import html_of
from tests.fleet.reminding import text_of as plain_of
from tests.flows.twenty_states import STATES, TODAY, CarState, put_in_book
from tests.mailserver import MailServer

pytestmark = pytest.mark.usefixtures("today")

MARK = "QA51 ABC"
#: What each reason is recognised by, wherever it is said.
REASON_WORDS = {
    "dangerous": r"Dangerous, do not drive",
    "tread": r"less than 1\.6 mm of tread",
    "mot": r"MOT ran out|No MOT recorded",
    "insurance": r"Insurance ran out",
    "vehicle_tax": r"Vehicle tax ran out",
    "cover": r"does not cover driving tuition",
    "before_next_lesson": r"Put right before the next lesson",
}
Place = Callable[[Car, Mapping[str, Client]], str]


def said(text: str) -> tuple[Verdict, tuple[str, ...]]:
    """The verdict and the reasons, in their order, that a text about one car gives."""
    if re.search("off the road", text, re.IGNORECASE):
        places = {name: re.search(words, text, re.IGNORECASE) for name, words in REASON_WORDS.items()}
        found = sorted((match.start(), name) for name, match in places.items() if match)
        return Verdict.OFF_THE_ROAD, tuple(name for _, name in found)
    if re.search("not known", text, re.IGNORECASE):
        return Verdict.NOT_KNOWN, ()
    is_nothing = not text or re.search(r"nothing against|\blater\b", text, re.IGNORECASE)
    return (Verdict.NOTHING_AGAINST if is_nothing else Verdict.DUE), ()


def text_of(html: str) -> str:
    """What a piece of a page says."""
    return " ".join(re.sub("<[^>]+>", " ", re.sub("(?s)<(svg|style).*?</(svg|style)>", "", html)).split())


def page(client: Client, name: str, *args: str) -> str:
    return client.get(reverse(name, args=args)).content.decode().replace("\xa0", " ").replace("&nbsp;", " ")


def between(html: str, begin: str, end: str) -> str:
    """The text of the first piece of a page from ``begin`` to ``end``, both regular expressions; empty without one."""
    match = re.search(f"(?s){begin}.*?{end}", html)
    return text_of(match[0]) if match else ""


def whats_due_table(car: Car, clients: Mapping[str, Client]) -> str:
    out = io.StringIO()
    call_command("whats_due", "--on", "2026-03-16", stdout=out)
    return next(line for line in out.getvalue().splitlines() if line.startswith(MARK))


def board_table(car: Car, clients: Mapping[str, Client]) -> str:
    return between(page(clients["coordinator"], "fleet:car-list"), r"<tbody>(?=(?:(?!</tr>).)*QA51ABC)", "</th>")


def board_on_a_phone(car: Car, clients: Mapping[str, Client]) -> str:
    rows = page(clients["coordinator"], "fleet:car-list").partition("<summary>Each car</summary>")[2]
    return next(text for row in rows.split("<li>") if (text := text_of(row)).startswith(MARK)).partition(", and ")[0]


def board_of_an_only_car(car: Car, clients: Mapping[str, Client]) -> str:
    return between(page(clients["keeper"], "fleet:car-list"), "<h1", "</h1>(?:\\s*<p>.*?</p>)?")


def board_on_paper(car: Car, clients: Mapping[str, Client]) -> str:
    pdf = clients["keeper"].get(reverse("fleet:board-sheet")).content
    sheet = " ".join(" ".join(one.extract_text() for one in PdfReader(io.BytesIO(pdf)).pages).split())
    own = sheet.partition(f"{MARK} ")[2].replace("Wren Applegarth ", "", 1)
    return own.partition(" ")[0] if not own.startswith(("off", "not")) else own


def home(car: Car, clients: Mapping[str, Client]) -> str:
    html = page(clients["keeper"], "costing:home")
    stopped = between(html, '<section class="stop"', "</section>")
    return stopped or between(html, 'class="verdict lines">', "</a>")


def home_of_a_coordinator(car: Car, clients: Mapping[str, Client]) -> str:
    return between(page(clients["coordinator"], "costing:home"), '<section class="stop"', "</section>")


def strip_on_every_page(car: Car, clients: Mapping[str, Client]) -> str:
    return between(page(clients["keeper"], "costing:entries"), '<div id="standing"', "</div>")


def car_page(car: Car, clients: Mapping[str, Client]) -> str:
    html = page(clients["coordinator"], "fleet:car", car.registration)
    stopped = between(html, '<section class="stop"', "</section>")
    return stopped or between(html, '<div class="verdict lines">', "</p>")


def calendar(car: Car, clients: Mapping[str, Client]) -> str:
    _, token = open_feed(by=car.keeper, scope=FeedScope.OWN)
    events = icalendar.Calendar.from_ical(Client().get(reverse("fleet:calendar-feed", args=[token])).content).events
    told = [event for event in events if re.match("Off the road|Not known", event["summary"])]
    return " ".join(f"{event['summary']} {event['description']}" for event in told)


def ready_page(car: Car, clients: Mapping[str, Client]) -> str:
    return between(page(clients["keeper"], "fleet:ready", car.registration), '<p class="lede">.*?</p>\\s*<p>', "</p>")


PLACES: dict[str, Place] = {
    place.__name__: place
    for place in (
        *(whats_due_table, board_table, board_on_a_phone, board_of_an_only_car, board_on_paper),
        *(home, home_of_a_coordinator, strip_on_every_page, car_page, calendar, ready_page),
    )
}
#: What these say only if a car is off the road, or not known; silence there is no verdict.
_ONLY_OFF = {"home_of_a_coordinator", "strip_on_every_page"}
_ONLY_OFF_OR_UNKNOWN = {"calendar"}
#: The mails of a day, told because a step is reached, or nothing keeps the car on the road: silence is no verdict.
_MAILS = {f"{mail} {part}" for mail in ("keeper", "coordinator", "asked") for part in ("html", "text", "subject")}
_NO_MAIL = {
    "keeper": {"nothing recorded against it", "to be watched", "MOT due and booked"},
    "coordinator": {"nothing recorded against it", "to be watched", "MOT due and booked", "booked day has passed"},
    "asked": {"nothing recorded against it", "MOT due and booked"},
}
#: These give the verdict alone; of the reasons they have a word or two in their cells.
_WITHOUT_REASONS = {"board_table"}


def expected_of(place: str, state: CarState) -> tuple[Verdict, tuple[str, ...]]:
    """What a place says of a car in that state."""
    told = {Verdict.OFF_THE_ROAD} if place in _ONLY_OFF else {Verdict.OFF_THE_ROAD, Verdict.NOT_KNOWN}
    if place in _ONLY_OFF | _ONLY_OFF_OR_UNKNOWN and state.verdict not in told:
        return Verdict.NOTHING_AGAINST, ()
    if place in _MAILS and state.name in _NO_MAIL[place.partition(" ")[0]]:
        return Verdict.NOTHING_AGAINST, ()
    if place.endswith("subject"):
        return state.verdict, state.reasons[:1]
    return state.verdict, () if place in _WITHOUT_REASONS else state.reasons


def mails_of(keeper: Member, coordinator: Member, server: MailServer) -> dict[str, str]:
    """What the mails of the day say of the car, by mail and part: to its keeper, to a coordinator, and as asked for."""
    run_reminders(TODAY)
    mails = {"keeper" if one["To"] == keeper.email else "coordinator": one for one in server.messages}
    server.clear()
    mail = queue_mail(to=keeper, kind=MailKind.ASKED, asked_by=coordinator)
    assert mail is not None
    if deliver_mail(mail.pk, TODAY).result is DeliveryResult.SENT:
        [mails["asked"]] = server.messages
    found = dict.fromkeys(_MAILS, "")
    for name, message in mails.items():
        html, text = (part.replace("\xa0", " ") for part in (html_of(message), plain_of(message)))
        stopped = between(html, '<td class="stop"', "</td>")
        found[f"{name} html"] = stopped or between(html, '<h1 class="verdict"', "</h1>(?:\\s*<p.*?</p>)?")
        # Its head: of a car off the road with what follows the mark, otherwise what comes after the greeting.
        found[f"{name} text"] = "* ".join(text.split("* ")[:2]) if stopped else text.split("\r\n\r\n")[1]
        found[f"{name} subject"] = message["Subject"]
    return found


@pytest.fixture
def state(request: pytest.FixtureRequest, car: Car, colleague_car: Car, keeper: Member) -> CarState:
    """The keeper's car in one of the states; the colleague's car, of a trainee, is in order."""
    put_in_book(CarState("in order", Verdict.NOTHING_AGAINST), colleague_car)
    put_in_book(request.param, car)
    DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on="2027-03-01")
    found: CarState = request.param
    return found


@pytest.mark.parametrize("state", STATES, ids=lambda one: one.name, indirect=True)
def test_every_place_says_the_same(
    everyone: dict[str, Client],
    car: Car,
    keeper: Member,
    coordinator: Member,
    smtp_server: MailServer,
    state: CarState,
) -> None:
    out = io.StringIO()
    call_command("whats_due", "--json", "--on", "2026-03-16", stdout=out)
    [answer] = [one for one in json.loads(out.getvalue())["cars"] if one["registration"] == "QA51ABC"]
    assert (answer["verdict"], answer["reasons"]) == (state.verdict, list(state.reasons))
    assert answer["off_the_road"] == (state.verdict is Verdict.OFF_THE_ROAD)
    texts = {name: place(car, everyone) for name, place in PLACES.items()}
    texts |= mails_of(keeper, coordinator, smtp_server)
    found = {name: said(text) for name, text in texts.items()}
    assert found == {name: expected_of(name, state) for name in texts}, texts


def test_there_are_twenty_states_and_every_verdict_and_reason_is_among_them() -> None:
    assert len(STATES) == 20
    assert {state.verdict for state in STATES} == {*Verdict}
    assert {reason for state in STATES for reason in state.reasons} == {*REASON_WORDS}
