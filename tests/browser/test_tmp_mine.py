import pytest
from django.urls import reverse
from tests.browser.test_every_page import *
from tests.browser.test_every_page import faults_of_all

for n in [n for n in dir() if n.startswith("test_")]:
    del globals()[n]
NAMES = [
    "fleet:car-list",
    "fleet:month",
    "fleet:calendar-feeds",
    "fleet:reminder-log",
    "fleet:reminder-choices",
    "fleet:profile",
]


def test_mine(open_page, full_book, coordinator):
    found = faults_of_all(
        open_page(coordinator), [*map(reverse, NAMES), "/cars/?state=later", "/cars/?out-of-service=1"]
    )
    found += faults_of_all(open_page(full_book.keeper), [reverse(n) for n in NAMES if n != "fleet:reminder-log"])
    print("\n".join(found))
    assert not found
