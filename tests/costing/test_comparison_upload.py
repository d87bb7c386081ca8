"""A comparison made of an offers file."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from config.budgets import COMPARISONS
from costing.choosing.services.stored import case_of
from costing.models import Comparison
from instructors.models import Member
from tests.costing.comparison_pages import comparison_of, rental
from tests.costing.pages import shown, text_of
from tests.factories import ComparisonFactory

UPLOAD = reverse("costing:comparison-upload")
USE = """\
[use]
starts_on = 2027-01-01
months = 30
miles_per_year = 24000
private_miles_per_year = 3000
lesson_hours_per_week = 26
weeks_taught_per_year = 46
lesson_hour_price = 38.00
"""
OFFERS = (
    USE
    + """
[running]
insurance = [1140.00, 985.00]

[[offer]]
name = "Weekly rental, all in"
kind = "weekly_rental"
payment = 129.00
payments = 104
frequency = "week"
includes = ["insurance"]
early_exit = { kind = "weeks", value = 8 }

[[uncertain]]
input = "damage"
low = 0
likely = 150.5
high = 700
offer = "Weekly rental, all in"
"""
)

pytestmark = pytest.mark.usefixtures("today")


def send(client: Client, text: str | bytes, name: str = "spring offers.toml"):
    content = text if isinstance(text, bytes) else text.encode()
    return client.post(UPLOAD, {"file": SimpleUploadedFile(name, content)})


def test_what_could_happen_is_kept_while_it_lies_before_the_horizon(
    everyone: dict[str, Client], keeper: Member
) -> None:
    leaving = '[[what_if]]\nname = "Leave"\nleave_at_month = 20\n'
    ill = '[[what_if]]\nname = "Ill"\nweeks_off = { from_week = 30, weeks = 6 }\n'
    send(everyone["keeper"], f"{OFFERS}{leaving}{ill}")
    comparison = Comparison.objects.get(member=keeper)
    assert [change.name for change in case_of(comparison).what_ifs] == ["Leave", "Ill"]

    comparison.use["months"] = 12
    assert [change.name for change in case_of(comparison).what_ifs] == ["Ill"]


def test_all_it_says_is_kept(everyone: dict[str, Client], keeper: Member) -> None:
    response = send(everyone["keeper"], OFFERS)
    comparison = Comparison.objects.get(member=keeper)
    assert (response.status_code, response.url) == (303, reverse("costing:comparison", args=[comparison.pk]))
    assert comparison.name == "spring offers"
    assert comparison.use["starts_on"] == "2027-01-01"
    assert (comparison.running, comparison.sources) == (
        {"insurance": ["1140.00", "985.00"]},
        {"insurance": "from the file"},
    )
    assert comparison.uncertain[0]["likely"] == "150.50"
    offer = comparison.offers.get()
    assert (offer.name, offer.kind) == ("Weekly rental, all in", "weekly_rental")
    assert offer.terms["early_exit"] == {"kind": "weeks", "value": 8}


def test_fuel_told_by_economy_and_price_is_from_the_file_too(everyone: dict[str, Client], keeper: Member) -> None:
    told = "[running]\nfuel = { mpg = 48.0, pence_per_litre = 141.0 }\n"
    send(everyone["keeper"], OFFERS.replace("[running]\n", told))
    comparison = Comparison.objects.get(member=keeper)
    page = shown(everyone["keeper"], reverse("costing:comparison", args=[comparison.pk]))
    assert "(48 mpg at 141p a litre) From the file" in page


def test_sent_twice_it_makes_one(everyone: dict[str, Client]) -> None:
    for _ in range(2):
        assert send(everyone["keeper"], OFFERS).status_code == 303
    assert Comparison.objects.count() == 1


def test_every_fault_is_listed_by_its_line(everyone: dict[str, Client]) -> None:
    wrong = OFFERS.replace("months = 30", "months = 240").replace("payments = 104", "payments = 1.5")
    text = text_of(send(everyone["keeper"], wrong))
    assert "spring offers.toml:3: use, months: is more than 120: it must be between 1 and 120 months" in text
    assert "spring offers.toml:17: offer 1, payments: is not a whole number" in text
    assert not Comparison.objects.exists()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "This file is empty."),
        (b"\xff\xfe", "isn’t UTF-8 text"),
        ("[use", "this isn’t TOML"),
        (b"#" * 200_001, "at most 200 kB"),
        (
            OFFERS + "".join(f'[[offer]]\nname = "{n}"\nkind = "owned"\nprice = 1\n' for n in range(8)),
            "At most 8 offers",
        ),
    ],
)
def test_what_is_no_offers_file_is_refused(everyone: dict[str, Client], content: str | bytes, words: str) -> None:
    assert words in text_of(send(everyone["keeper"], content))
    assert not Comparison.objects.exists()


def test_a_comparison_downloaded_and_sent_again_is_the_same_case(everyone: dict[str, Client], keeper: Member) -> None:
    comparison = comparison_of(keeper, uncertain=[{"input": "tyre_set", "low": "1", "likely": "2.5", "high": "3"}])
    exit_rule = {"kind": "share_of_remaining", "value": "0.5"}
    told = {"payment": "129.00", "payments": 104, "frequency": "week", "early_exit": exit_rule, "includes": ["mot"]}
    rental(comparison, name='The "all in" rental', terms=told)
    response = everyone["keeper"].get(reverse("costing:comparison-file", args=[comparison.pk]))
    send(everyone["keeper"], response.content)
    again = Comparison.objects.exclude(pk=comparison.pk).get()
    assert case_of(again) == case_of(comparison)


def test_a_file_is_not_kept_once_there_are_as_many_as_may_be(everyone: dict[str, Client], keeper: Member) -> None:
    ComparisonFactory.create_batch(COMPARISONS, member=keeper)

    assert "You have 50 comparisons, and no more can be kept. Remove one first." in text_of(
        send(everyone["keeper"], OFFERS)
    )
    assert Comparison.objects.count() == COMPARISONS
