"""A newcomer with three offers in writing, on a phone in a showroom: how long it takes until the cheapest is known."""

import json
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import NamedTuple

import pytest
from django.core.management import call_command
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from costing.core.catalogue.agreements import CONTRACT_HIRE, HIRE_PURCHASE, OWNED
from costing.models import Comparison
from instructors.models import Member
from tests.browser.conftest import PASSWORD, OpenPage

#: Estimates of the time a thumb takes: for a tap, and for a field typed from a letter.
SECONDS_A_TAP, SECONDS_A_FIELD = 2.5, 4.0
MOST_SECONDS = 300
#: A little above what it takes now: whatever needs more has put something in the way.
MOST_TAPS, MOST_FIELDS = 28, 36


class Told(NamedTuple):
    """What is told on one page: figures and ticks by the names of their fields, and the key that sends them."""

    typed: Mapping[str, str] = {}
    ticked: Sequence[str] = ()
    key: str = "Save this offer"


USE = Told(
    {
        "miles_per_year": "24000",
        "private_miles_per_year": "3000",
        "lesson_hours_per_week": "26",
        "lesson_hour_price": "38",
    },
    key="Save and go on",
)
RUNNING = Told(
    {
        "fuel_pence_per_mile": "13.5",
        "insurance_1": "1040",
        "vehicle_tax_per_year": "195",
        "breakdown_per_year": "60",
        "mot": "54.85",
        "servicing_per_year": "260",
        "repairs_per_year": "400",
        "tyre_set": "320",
        "tyre_set_miles": "25000",
        "fit_out": "440",
    },
    key="Save",
)
#: Three letters as they lie on the desk: kind, and what it says.
LETTERS = {
    "Older estate": (OWNED, Told({"name": "Older estate", "price": "8500", "value_at_horizon": "4300"})),
    "Hatchback on hire purchase": (
        HIRE_PURCHASE,
        Told(
            {
                "name": "Hatchback on hire purchase",
                "price": "11200",
                "deposit": "1500",
                "payment": "298.40",
                "payments": "36",
                "quoted_apr": "7.1",
                "value_at_horizon": "6400",
            }
        ),
    ),
    "Hired by the month": (
        CONTRACT_HIRE,
        Told(
            {
                "name": "Hired by the month",
                "deposit": "900",
                "payment": "299",
                "payments": "36",
                "damage": "350",
            },
            ["servicing", "repairs", "tyres", "vehicle_tax"],
        ),
    ),
}
#: All over 36 months, 72,000 miles. Owned: 8,500 + 440 fit-out + 3 x (1,040 + 195 + 60 + 54.85 + 260 + 400)
#: + 72,000 miles x (13.5p + 320 / 25,000) - 4,300. Hired: 900 + 36 x 299 + 350 + 440 + 3 x (1,040 + 60 + 54.85)
#: + 72,000 miles x 13.5p.
BY_HAND = {"Older estate": Decimal("21311.15"), "Hired by the month": Decimal("25638.55")}


class Thumb:
    """Taps and types, and counts both."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.tap_count = self.field_count = 0

    def press(self, words: str) -> None:
        """Tap the first link or key that begins with these words."""
        begins = re.compile(rf"^\s*{re.escape(words)}")
        self.tap(self.page.locator("a, button, summary").filter(has_text=begins, visible=True).first)

    def tap(self, what: Locator) -> None:
        what.tap()
        self.tap_count += 1

    def tell(self, told: Told) -> None:
        for name, words in told.typed.items():
            self.seen(f"input[name='{name}']").fill(words)
            self.field_count += 1
        for value in told.ticked:
            self.tap(self.seen(f"input[name='includes'][value='{value}']"))
        self.press(told.key)

    def seen(self, name: str) -> Locator:
        """The field, its fold opened."""
        field = self.page.locator("main").locator(name)
        field.wait_for(state="attached")
        if not field.is_visible():
            fold = self.page.locator("details:not([open])").filter(has=self.page.locator(name))
            self.tap(fold.first.locator("summary").first)
        return field

    @property
    def seconds(self) -> float:
        return self.tap_count * SECONDS_A_TAP + self.field_count * SECONDS_A_FIELD


@pytest.mark.parametrize("script", [True, False])
def test_three_letters_become_an_answer_within_five_minutes(
    open_page: OpenPage, member: Member, tmp_path: Path, script: bool
) -> None:
    page = open_page(script=script)
    thumb = Thumb(page)
    page.goto(reverse("costing:home"))
    thumb.tell(Told({"login": member.email, "password": PASSWORD}, key="Sign in"))
    for way in ("More", "Your next car", "Start"):
        thumb.press(way)
    thumb.tell(USE)
    for number, (kind, letter) in enumerate(LETTERS.values()):
        if number:
            thumb.press("Add another offer")
        thumb.press(kind.words)
        # Another kind brings another slip, without script another page.
        expect(page.locator("main input[name='kind']")).to_have_value(kind.name)
        thumb.tell(letter)
    thumb.press("The use, and the running costs of all")
    thumb.press("Change the running costs")
    thumb.tell(RUNNING)
    comparison = Comparison.objects.get(member=member)
    expect(page).to_have_url(re.compile(f"{reverse('costing:comparison', args=[comparison.pk])}$"))
    answers = answers_of_the_command(page, comparison, tmp_path / "offers.toml")
    assert totals_shown(page) == {name: round(total) for name, total in answers.items()}
    assert answers | BY_HAND == answers
    letter, _ = min(zip("ABC", LETTERS, strict=True), key=lambda pair: answers[pair[1]])
    expect(page.get_by_text(re.compile(rf"^\s*{letter}\s*is cheapest, £[\d,]+ less than")).first).to_be_visible()
    assert thumb.seconds < MOST_SECONDS
    assert thumb.tap_count <= MOST_TAPS
    assert thumb.field_count <= MOST_FIELDS


def totals_shown(page: Page) -> dict[str, int]:
    """What each offer comes to in all, in whole pounds, by its name, as the table of the page has it."""
    table = page.get_by_role("table", name="The offers side by side")
    names = [
        words.split(maxsplit=1)[1] for words in table.get_by_role("columnheader").all_text_contents() if words.strip()
    ]
    row = table.get_by_role("row").filter(has=page.get_by_role("rowheader", name="36 months"))
    shown = [words.split()[0] for words in row.get_by_role("cell").all_text_contents()]
    return {name.strip(): int(re.sub("[£,]", "", words)) for name, words in zip(names, shown, strict=True)}


def answers_of_the_command(page: Page, comparison: Comparison, file: Path) -> dict[str, Decimal]:
    """What each offer comes to in all, by its name, as the command has it of the file that the page hands out."""
    file.write_bytes(page.request.get(reverse("costing:comparison-file", args=[comparison.pk])).body())
    out = StringIO()
    call_command("compare_offers", str(file), "--json", stdout=out)
    return {offer["name"]: Decimal(offer["total"]) for offer in json.loads(out.getvalue())["offers"]}
