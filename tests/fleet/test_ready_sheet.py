"""The sheet /cars/<mark>/ready/<list>/sheet/: one list on paper."""

import sys
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from fleet.core.requirements import LISTS
from fleet.models import Car
from tests.factories import DefectFactory
from tests.fleet.test_ready import make_ready

pytestmark = pytest.mark.usefixtures("today")

SHEETS = [reverse("fleet:ready-sheet", args=["QA51ABC", name]) for name in LISTS]


def text_of(response) -> str:
    text = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(response.content)).pages)
    return text.replace("- ", "-")  # a line may end after a hyphen


@pytest.mark.parametrize("sheet", SHEETS)
@pytest.mark.parametrize(
    ("who", "status"),
    [("keeper", 200), ("coordinator", 200), ("colleague", 404), ("stranger", 404), ("anonymous", 302)],
)
def test_whoever_may_see_the_car_may_print_it(
    everyone: dict[str, Client], car: Car, sheet: str, who: str, status: int
) -> None:
    assert everyone[who].get(sheet).status_code == status


def test_there_is_no_other_list(everyone: dict[str, Client], car: Car) -> None:
    assert everyone["keeper"].get(reverse("fleet:ready-sheet", args=["QA51ABC", "race-day"])).status_code == 404


def test_paper_says_what_the_page_says_and_every_point_with_its_source(everyone: dict[str, Client], car: Car) -> None:
    make_ready(car)
    DefectFactory(car=car, severity="dangerous", description="Brake pipe <worn> & leaking")
    response = everyone["keeper"].get(SHEETS[1])
    text = text_of(response)
    assert response["Content-Disposition"] == 'inline; filename="QA51_ABC_test-day_2026-03-16.pdf"'
    assert "Ready for a test day: QA51 ABC" in text
    assert "As recorded on 16 March 2026." in text
    assert "Tuition Car Book made 16 March 2026" in text
    assert "Not ready: 1 point not met." in text
    assert "Brake pipe <worn> & leaking" in text
    assert "a qualified technician come first" in text
    for point in LISTS["test-day"].points:
        assert point.words in text
    assert text.count(" Met ") == len(LISTS["test-day"].points) - 1
    assert text.count(" Not met ") == 1


def test_a_machine_without_the_libraries_says_what_is_missing(
    everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Missing:
        """Finds WeasyPrint as a machine does that lacks its libraries."""

        @staticmethod
        def find_spec(name: str, path: object = None, target: object = None) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing, *sys.meta_path])
    response = everyone["keeper"].get(SHEETS[0])
    assert response.status_code == 503
    assert "apt-get install -y --no-install-recommends libpango-1.0-0" in response.content.decode()
    assert everyone["keeper"].get(reverse("fleet:ready", args=["QA51ABC"])).status_code == 200
