"""The filters of the board, its pages, and what each obligation of a car says on it."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from fleet.core.board import OBLIGATIONS, Urgency
from fleet.core.due_kinds import DUE_KINDS
from fleet.models import Car
from instructors.models import Member
from tests.factories import (
    CarFactory,
    ConfirmationFactory,
    DefectFactory,
    DueItemFactory,
    MemberFactory,
    OdometerReadingFactory,
    TreadReadingFactory,
    TyreMoveFactory,
    WalkaroundCheckFactory,
)
from tests.fleet.reminding import in_days

CARS = reverse("fleet:car-list")
LATER = date(2026, 10, 3)
OF_A_CAR = [kind for kind in DUE_KINDS.values() if kind.belongs_to("car")]

pytestmark = pytest.mark.usefixtures("today")


def covered(car: Car, **days: date) -> Car:
    """The car with MOT, vehicle tax and insurance in the book, all far off unless told otherwise."""
    for kind in ("mot", "vehicle_tax", "insurance"):
        DueItemFactory(car=car, kind=kind, due_on=days.get(kind, LATER))
    return car


def marks_on(response: Any) -> list[str]:
    assert response.status_code == 200
    return [row.car.registration for row in response.context["report"].rows]


def text_of(response: Any) -> str:
    return " ".join(response.content.decode().split())


def cells_of(response: Any) -> dict[str, tuple[str, str]]:
    """The state and the words in each column of the only car on the page."""
    report = response.context["report"]
    [row] = report.rows
    return {head: (cell.urgency, cell.words) for head, cell in zip(report.columns, row.cells, strict=True)}


@pytest.fixture
def shown(everyone: dict[str, Client]) -> Callable[..., list[str]]:
    """The marks that a coordinator sees with these filters."""
    return lambda **asked: sorted(marks_on(everyone["coordinator"].get(CARS, asked)))


@pytest.fixture
def ellery(db: None) -> Member:
    return MemberFactory(name="Tomos Ellery")


@pytest.fixture
def fleet(ellery: Member) -> None:
    """Cars in each state; the first letters after QA tell it."""
    covered(CarFactory(registration="QAOFF", keeper=ellery), mot=in_days(-1), insurance=in_days(3))
    DueItemFactory(car=CarFactory(registration="QAUNKNOW", keeper=ellery), kind="insurance", due_on=LATER)
    DueItemFactory(car=covered(CarFactory(registration="QAPAST")), kind="service", due_on=in_days(-9))
    covered(CarFactory(registration="QADUE", description="Blue, the old one"), insurance=in_days(20))
    booked = covered(CarFactory(registration="QABOOKED", description="50% electric"))
    DueItemFactory(car=booked, kind="dual_controls", due_on=in_days(12), booked_for=in_days(9))
    covered(CarFactory(registration="QALATER"))


# --- Filters ------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("fleet")
@pytest.mark.parametrize(
    ("state", "marks"),
    [
        ("off", ["QAOFF"]),
        ("unknown", ["QAUNKNOW"]),
        ("overdue", ["QAOFF", "QAPAST"]),  # something on them is
        ("due", ["QABOOKED", "QADUE", "QAPAST"]),
        ("booked", ["QABOOKED"]),
        ("later", ["QALATER"]),
    ],
)
def test_a_state_keeps_the_cars_that_stand_so(shown: Callable[..., list[str]], state: str, marks: list[str]) -> None:
    assert shown(state=state) == marks


@pytest.mark.usefixtures("fleet")
def test_an_obligation_keeps_the_cars_on_which_it_must_be_seen_to(shown: Callable[..., list[str]]) -> None:
    assert shown(kind="mot") == ["QAOFF", "QAUNKNOW"]
    assert shown(kind="insurance") == ["QADUE", "QAOFF"]
    assert shown(kind="service") == ["QAPAST"]
    assert shown(kind="dual_controls") == []
    assert shown(kind="dual_controls", within="30") == ["QABOOKED"]
    assert shown(kind="defects") == []


@pytest.mark.usefixtures("fleet")
def test_obligation_and_state_ask_for_those_on_which_the_obligation_stands_so(
    shown: Callable[..., list[str]],
) -> None:
    assert shown(kind="mot", state="overdue") == ["QAOFF"]
    assert shown(kind="mot", state="unknown") == ["QAUNKNOW"]
    assert shown(kind="mot", state="off") == []
    assert shown(kind="dual_controls", state="booked") == ["QABOOKED"]
    assert shown(kind="insurance", state="later") == ["QABOOKED", "QALATER", "QAPAST", "QAUNKNOW"]
    assert shown(kind="service", state="later") == []  # nothing is recorded, which is not later


@pytest.mark.usefixtures("fleet")
@pytest.mark.parametrize(
    ("text", "marks"),
    [
        ("qadue", ["QADUE"]),
        ("qa d-ue", ["QADUE"]),
        ("  QAO ", ["QAOFF"]),
        ("ellery", ["QAOFF", "QAUNKNOW"]),
        ("tomos  ELLERY", ["QAOFF", "QAUNKNOW"]),
        ("old one", ["QADUE"]),
        ("%", ["QABOOKED"]),
        ("0% E", ["QABOOKED"]),
        ("_", []),
        ("'; --", []),
        ("<b>", []),
        ("\\", []),
        ("Ελένη", []),
        ("oﬀ", ["QAOFF"]),  # a ligature, as some text on the web has it
        ("🚗", []),
        ("x" * 5_000, []),
    ],
)
def test_the_search_looks_in_mark_keeper_and_description(
    shown: Callable[..., list[str]], text: str, marks: list[str]
) -> None:
    assert shown(q=text) == marks


@pytest.mark.usefixtures("fleet")
@pytest.mark.parametrize("text", ["", " ", "\t\n"])
def test_an_empty_search_hides_nothing(shown: Callable[..., list[str]], text: str) -> None:
    assert len(shown(q=text)) == 6


@pytest.mark.usefixtures("fleet")
def test_what_was_searched_for_is_shown_as_it_was_typed_and_runs_nothing(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["coordinator"].get(CARS, {"q": '"><script>x</script>'}))
    assert "<script>x" not in page
    assert "&lt;script&gt;x" in page
    assert "No car is like that." in page
    assert "6 other cars hidden." in page


@pytest.mark.usefixtures("fleet")
def test_filters_are_combined(shown: Callable[..., list[str]], ellery: Member) -> None:
    assert shown(kept_by=ellery.pk) == ["QAOFF", "QAUNKNOW"]
    assert shown(kept_by=ellery.pk, state="unknown") == ["QAUNKNOW"]
    assert shown(kept_by=ellery.pk, kind="insurance", within="7", q="qa") == ["QAOFF"]
    assert shown(kept_by=ellery.pk, state="due") == []


@pytest.mark.usefixtures("fleet")
@pytest.mark.parametrize(
    "asked",
    [
        {"state": "fine"},
        {"state": "OFF"},
        {"kind": "adi_registration"},
        {"kind": "password"},
        {"kept_by": "0"},
        {"kept_by": "-1"},
        {"kept_by": "٣"},
        {"kept_by": "9" * 400},
        {"keeper": "1"},
        {"keeper__email": "a"},
        {"registration__regex": "^Q"},
        {"page": "none"},
    ],
)
def test_what_is_no_filter_is_ignored(everyone: dict[str, Client], asked: dict[str, str]) -> None:
    response = everyone["coordinator"].get(CARS, asked)
    assert len(marks_on(response)) == 6
    assert "Shown:" not in text_of(response)


@pytest.mark.usefixtures("fleet")
def test_the_page_says_what_is_shown_and_offers_it_again(everyone: dict[str, Client], ellery: Member) -> None:
    asked = {"q": "qa", "kept_by": ellery.pk, "kind": "mot", "state": "unknown", "within": 7}
    response = everyone["coordinator"].get(CARS, asked)
    page = text_of(response)
    words = "“qa” in mark, keeper or description; kept by Tomos Ellery; MOT: not known; off the road, overdue"
    assert f"Shown: {words}" in page
    query = f"q=qa&amp;kept_by={ellery.pk}&amp;kind=mot&amp;state=unknown&amp;within=7"
    assert f'{reverse("fleet:board-sheet")}?{query}"' in page
    assert response.context["form"]["q"].value() == "qa"
    chosen = re.findall(r'<option value="([^"]*)" selected>', page)
    assert chosen == [str(ellery.pk), "mot", "unknown", "7"]


@pytest.mark.usefixtures("fleet")
def test_the_counts_lead_to_their_cars(everyone: dict[str, Client]) -> None:
    page = text_of(everyone["coordinator"].get(CARS))
    links = re.findall(rf'href="({CARS}\?state=\w+)"><span class="whole"> <svg.*?</svg> (\d+)</span> ', page)
    assert [count for _, count in links] == ["1", "1", "3"]
    for link, count in links:
        assert len(marks_on(everyone["coordinator"].get(link))) == int(count)


def test_of_several_cars_of_one_keeper_no_keeper_is_asked_for(everyone: dict[str, Client], keeper: Member) -> None:
    for mark in ("QA51ABC", "QA52DEF"):
        CarFactory(registration=mark, keeper=keeper)
    page = text_of(everyone["keeper"].get(CARS))
    assert 'name="q"' in page
    assert 'name="kept_by"' not in page


# --- Who sees what ----------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("fleet")
@pytest.mark.parametrize(
    "asked",
    [
        {"q": "qaoff"},
        {"q": "Ellery"},
        {"q": "Blue"},
        {"state": "off"},
        {"kind": "mot"},
        {"kind": "mot", "state": "overdue"},
        {"within": "90"},
        {"out-of-service": "1"},
        {"page": "2"},
    ],
)
def test_no_filter_shows_a_member_anybody_elses_car(
    everyone: dict[str, Client], car: Car, asked: dict[str, str]
) -> None:
    covered(car)
    CarFactory(registration="QAFORMER", in_service_to=date(2026, 1, 5))
    response = everyone["keeper"].get(CARS, asked)
    assert {*marks_on(response)} <= {"QA51ABC"}
    assert response.context["board"].car_count == 1
    page = text_of(response).replace(asked.get("q", "\0"), "")  # the page repeats what was searched for
    for secret in ("QAOFF", "QAFORMER", "Tomos", "Ellery", "Blue,"):
        assert secret not in page


@pytest.mark.usefixtures("fleet")
def test_a_member_cannot_tell_another_keeper_from_none(everyone: dict[str, Client], car: Car, ellery: Member) -> None:
    covered(car)
    plain, of_other, of_nobody = (
        re.sub(r'csrf[^>]*value="[^"]*"|X-CSRFToken[^}]*', "", everyone["keeper"].get(CARS, asked).content.decode())
        for asked in ({}, {"kept_by": ellery.pk}, {"kept_by": 999_999})
    )
    assert plain == of_other == of_nobody


# --- Pages ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "pages"), [(11, [11]), (12, [12]), (13, [12, 1]), (29, [12, 12, 5])])
def test_twelve_cars_stand_on_a_page(everyone: dict[str, Client], keeper: Member, count: int, pages: list[int]) -> None:
    for number in range(count):
        CarFactory(registration=f"QA{number:03d}", keeper=keeper)
    found: list[str] = []
    for number, length in enumerate(pages, 1):
        response = everyone["coordinator"].get(CARS, {"page": number})
        assert len(marks_on(response)) == length
        assert f"{count}</span> not known" in text_of(response)  # of all, whichever page
        assert (f"Page {number} of {len(pages)}" in text_of(response)) == (len(pages) > 1)
        found += marks_on(response)
    assert found == [f"QA{number:03d}" for number in range(count)]
    beyond = everyone["coordinator"].get(CARS, {"page": len(pages) + 5})
    assert marks_on(beyond) == found[-pages[-1] :]


def test_the_worst_of_all_cars_come_first_whatever_their_marks(everyone: dict[str, Client], keeper: Member) -> None:
    for number in range(15):
        covered(CarFactory(registration=f"QA{number:03d}", keeper=keeper))
    covered(CarFactory(registration="QZ1", keeper=keeper), mot=in_days(5))
    covered(CarFactory(registration="QZ2", keeper=keeper), vehicle_tax=in_days(-1))
    covered(CarFactory(registration="QZ3", keeper=keeper), insurance=in_days(-1))
    DefectFactory(car=covered(CarFactory(registration="QZ4", keeper=keeper)), severity="dangerous")
    CarFactory(registration="QZ5", keeper=keeper)
    covered(CarFactory(registration="QZ6", keeper=keeper), insurance=in_days(3))
    first, second = (everyone["coordinator"].get(CARS, {"page": number}) for number in (1, 2))
    assert marks_on(first)[:7] == ["QZ4", "QZ3", "QZ2", "QZ5", "QZ6", "QZ1", "QA000"]
    assert marks_on(second)[-1] == "QA014"


def test_the_links_between_pages_keep_the_filters(everyone: dict[str, Client], keeper: Member) -> None:
    for number in range(13):
        CarFactory(registration=f"QA{number:03d}", keeper=keeper, description="blue & grey")
    CarFactory(registration="QB1")
    asked = {"q": "e & g", "state": "unknown"}
    page = text_of(everyone["coordinator"].get(CARS, asked))
    [(link, words)] = re.findall(r'<a rel="next" href="([^"]*)">([^<]*)<', page)
    assert (link, words) == ("?q=e+%26+g&amp;state=unknown&amp;page=2", "Next page")
    assert marks_on(everyone["coordinator"].get(CARS + link.replace("&amp;", "&"))) == ["QA012"]


# --- What a cell says -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", OF_A_CAR, ids=lambda kind: kind.name)
def test_each_kind_of_a_car_stands_in_its_column_or_in_the_last(
    everyone: dict[str, Client], car: Car, kind: Any
) -> None:
    covered(car)
    TreadReadingFactory(car=car)
    item = car.due_items.filter(kind=kind.name).first() or DueItemFactory(car=car, kind=kind.name, note="Roof box")
    column = kind.column or "Other"
    for days, state in ((-1, "overdue"), (20, "due"), (60, "later")):
        item.due_on = in_days(days)
        item.save()
        response = everyone["keeper"].get(CARS)
        urgency, words = cells_of(response)[column]
        if state == "later":
            assert urgency in (("", "later") if column == "Other" or kind.by_tread else ("later",))
            continue
        assert urgency == state
        assert words.endswith({-1: "15 Mar", 20: "5 Apr"}[days])
        if not kind.column:
            assert words.startswith("Roof box" if kind.named_by_note else kind.words)
        [section] = [one for one in response.context["report"].sections if one.head == column]
        assert [row.car for row, _ in section.rows] == [car]
        assert section.calm_count == 0


def test_every_obligation_may_be_asked_for_and_each_column_has_one(everyone: dict[str, Client], car: Car) -> None:
    CarFactory(registration="QA52DEF", keeper=car.keeper)
    page = text_of(everyone["keeper"].get(CARS))
    for name, obligation in OBLIGATIONS.items():
        assert f'<option value="{name}">{obligation.words}</option>' in page
    for urgency in Urgency:
        assert f'<option value="{urgency}">' in page


def test_what_is_not_recorded_is_not_known_where_it_must_be_and_has_a_shape(
    everyone: dict[str, Client], car: Car
) -> None:
    response = everyone["keeper"].get(CARS)
    assert "not known, not known" not in re.sub("<[^>]*>", "", text_of(response))
    assert cells_of(response) == {
        "MOT": ("unknown", "not known"),
        "Insurance": ("unknown", "not known"),
        "Tax": ("unknown", "not known"),
        "Service": ("", "none"),
        "Tyres": ("unknown", "not known"),
        "Controls": ("", "none"),
        "Check": ("unknown", "not known"),
        "Other": ("", ""),
    }


def test_a_day_is_told_in_short_and_a_far_one_by_its_year(everyone: dict[str, Client], car: Car) -> None:
    covered(car, mot=date(2029, 3, 5), insurance=in_days(-2), vehicle_tax=date(2027, 3, 15))
    DueItemFactory(car=car, kind="dual_controls", due_on=in_days(20), booked_for=in_days(9))
    cells = cells_of(everyone["keeper"].get(CARS))
    assert (cells["MOT"], cells["Insurance"]) == (("later", "2029"), ("overdue", "14 Mar"))
    assert (cells["Tax"], cells["Controls"]) == (("later", "15 Mar"), ("booked", "25 Mar"))


def test_a_day_by_forecast_is_told_by_its_month_and_as_a_forecast_once_it_is_due(
    everyone: dict[str, Client], car: Car
) -> None:
    covered(car)
    OdometerReadingFactory(car=car, read_on=in_days(-90), miles=20_000)
    OdometerReadingFactory(car=car, read_on=in_days(0), miles=21_800)
    item = DueItemFactory(car=car, kind="service", due_on=None, due_miles=24_000)
    assert cells_of(everyone["keeper"].get(CARS))["Service"] == ("later", "Jul")
    item.due_miles = 22_200
    item.save()
    assert cells_of(everyone["keeper"].get(CARS))["Service"] == ("due", "about 5 Apr")


def test_a_mileage_without_a_forecast_is_told(everyone: dict[str, Client], car: Car) -> None:
    covered(car)
    DueItemFactory(car=car, kind="service", due_on=None, due_miles=24_000)
    assert cells_of(everyone["keeper"].get(CARS))["Service"] == ("unknown", "24,000 mi")


@pytest.mark.parametrize(("least", "cell"), [("3.9", "later"), ("3.0", "due"), ("1.5", "off")])
def test_the_least_tread_of_the_last_readings_is_told(
    everyone: dict[str, Client], car: Car, least: str, cell: str
) -> None:
    TreadReadingFactory(car=car, wheel="front_left", read_on=in_days(-40), inner="1.0")
    TreadReadingFactory(car=car, wheel="front_left", read_on=in_days(-4), inner="5.1", centre="5.1", outer="5.1")
    TreadReadingFactory(car=car, wheel="rear_right", read_on=in_days(-4), inner=least, centre="6.0", outer="6.0")
    assert cells_of(everyone["keeper"].get(CARS))["Tyres"] == (cell, f"{least} mm")


def test_a_tyre_that_was_replaced_since_tells_nothing(everyone: dict[str, Client], car: Car) -> None:
    TreadReadingFactory(car=car, wheel="front_left", read_on=in_days(-40), inner="1.9")
    TreadReadingFactory(car=car, wheel="rear_left", read_on=in_days(-40), inner="4.0", centre="4.0", outer="4.0")
    TyreMoveFactory(car=car, wheel="front_left", moved_on=in_days(-20), came_from="rear_left")
    TyreMoveFactory(car=car, wheel="rear_left", moved_on=in_days(-20), came_from="")
    assert cells_of(everyone["keeper"].get(CARS))["Tyres"] == ("later", "4.0 mm")


def test_insurance_that_leaves_out_tuition_is_told_where_it_stands(everyone: dict[str, Client], car: Car) -> None:
    covered(car)
    ConfirmationFactory(car=car, point="tuition_insurance", is_met=False)
    assert cells_of(everyone["keeper"].get(CARS))["Insurance"] == ("off", "no tuition")
    assert marks_on(everyone["coordinator"].get(CARS, {"kind": "insurance", "state": "off"})) == ["QA51ABC"]


@pytest.mark.parametrize(
    ("days_ago", "cell"),
    [(0, ("later", "today")), (1, ("later", "1 day")), (6, ("later", "6 days")), (7, ("due", "7 days"))],
)
def test_the_days_since_the_last_check_are_told(
    everyone: dict[str, Client], car: Car, days_ago: int, cell: tuple[str, str]
) -> None:
    WalkaroundCheckFactory(car=car, checked_on=in_days(-days_ago))
    assert cells_of(everyone["keeper"].get(CARS))["Check"] == cell


def test_the_last_column_tells_the_worst_and_how_many_more(everyone: dict[str, Client], car: Car) -> None:
    covered(car)
    DueItemFactory(car=car, kind="breakdown_cover", due_on=in_days(60))
    assert cells_of(everyone["keeper"].get(CARS))["Other"] == ("", "")
    DueItemFactory(car=car, kind="other", note="Roof box", due_on=in_days(4))
    DefectFactory(car=car, severity="watch", description="Rattles")
    assert cells_of(everyone["keeper"].get(CARS))["Other"] == ("due", "Rattles, 1 more")
    DefectFactory(car=car, severity="before_next_lesson", description="Horn is dead")
    assert cells_of(everyone["keeper"].get(CARS))["Other"] == ("off", "2 defects: Horn is dead, 1 more")


def test_the_last_column_counts_every_defect_that_it_does_not_tell(everyone: dict[str, Client], car: Car) -> None:
    covered(car)
    DueItemFactory(car=car, kind="breakdown_cover", due_on=in_days(-1))
    for words in ("Rattles", "Squeaks"):
        DefectFactory(car=car, severity="watch", description=words)
    assert cells_of(everyone["keeper"].get(CARS))["Other"] == ("overdue", "Breakdown cover 15 Mar, 2 more")


def test_on_a_phone_the_calm_are_counted_and_calm_obligations_named(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    covered(car, mot=in_days(5))
    covered(colleague_car)
    for one in (car, colleague_car):
        WalkaroundCheckFactory(car=one, checked_on=in_days(0))
        TreadReadingFactory(car=one, inner="5.0", centre="5.0", outer="5.0")
    page = text_of(everyone["coordinator"].get(CARS))
    assert "MOT <small>1 more, nothing due</small>" in page
    assert "Nothing due: Insurance, Tax, Service, Tyres, Controls, Check." in page
    assert page.count('<h2 id="by-') == 1


def test_on_a_phone_what_is_booked_stands_in_its_section_by_the_booked_day(
    everyone: dict[str, Client], car: Car, colleague_car: Car
) -> None:
    covered(car)
    covered(colleague_car)
    DueItemFactory(car=car, kind="service", due_on=in_days(20), booked_for=in_days(9))
    response = everyone["coordinator"].get(CARS)
    [section] = [one for one in response.context["report"].sections if one.head == "Service"]
    assert [(row.car, cell.words, cell.urgency) for row, cell in section.rows] == [(car, "25 Mar", "booked")]
    assert section.calm_count == 1
    assert '<b class="num">25 Mar<span class="sr">, booked</span></b>' in text_of(response)
