"""The page /due/<pk>/done/: recording that a due item was met."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from costing.models import CostEntry
from fleet.models import Car, Completion, Defect, DueItem, OdometerReading
from instructors.models import Member
from tests.asked import said_at
from tests.factories import (
    ConfirmationFactory,
    CooperativeFactory,
    CostEntryFactory,
    DefectFactory,
    DueItemFactory,
    OdometerReadingFactory,
)
from tests.pictures import picture_bytes

pytestmark = pytest.mark.usefixtures("today")
REF = "0d8f7a52-5b0e-4a7e-9b07-3f6f3f2b9a01"


def path_of(item: DueItem) -> str:
    return reverse("fleet:due-item-complete", args=[item.pk])


def sent(**typed: str) -> dict[str, str]:
    """A form as a page opened just now sends it, done today unless ``typed`` says otherwise."""
    return {"ref": str(uuid4()), "done_on": "2026-03-16"} | typed


@pytest.fixture
def mot(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="mot", due_on=date(2026, 4, 2))


@pytest.fixture
def service(car: Car) -> DueItem:
    return DueItemFactory(car=car, kind="service", due_on=date(2026, 4, 2), every_months=12, every_miles=10_000)


@pytest.mark.parametrize(("who", "status"), [("colleague", 404), ("stranger", 404), ("anonymous", 302)])
def test_nobody_else_records_it(everyone: dict[str, Client], mot: DueItem, who: str, status: int) -> None:
    assert everyone[who].get(path_of(mot)).status_code == status
    assert everyone[who].post(path_of(mot), sent()).status_code == status
    assert not Completion.objects.exists()


@pytest.mark.parametrize("who", ["keeper", "coordinator"])
def test_keeper_and_coordinator_record_it(everyone: dict[str, Client], mot: DueItem, who: str) -> None:
    response = everyone[who].post(path_of(mot), sent(next_due_on="2027-04-02", note="Passed"), follow=True)
    assert response.redirect_chain == [("/cars/QA51ABC/", 303)]
    assert "MOT: recorded as done on 16 March 2026. Next due: 2 April 2027." in response.content.decode()
    completion = Completion.objects.get()
    assert (completion.done_on, completion.was_due_on) == (date(2026, 3, 16), date(2026, 4, 2))
    assert (completion.recorded_by.email, completion.note) == (f"{who}@book.example", "Passed")
    mot.refresh_from_db()
    assert mot.due_on == date(2027, 4, 2)


@pytest.mark.parametrize("kind", ["mot", "service"])
@pytest.mark.parametrize("ref", ["", "7", "x" * 300])
def test_a_page_whose_reference_is_broken_says_so_in_words(
    everyone: dict[str, Client], car: Car, kind: str, ref: str
) -> None:
    item = DueItemFactory(car=car, kind=kind, due_on=date(2026, 4, 2))
    answer = everyone["keeper"].post(path_of(item), sent(ref=ref, amount="54.85", advisories="Tyre worn"))
    assert answer.status_code == 200
    assert "Reload the page and try again." in answer.content.decode()
    assert not Completion.objects.exists()


def test_the_next_day_by_rule_is_proposed(everyone: dict[str, Client], mot: DueItem) -> None:
    # Tested inside the month before expiry, a pass keeps the day of the month.
    page = everyone["keeper"].get(path_of(mot)).content.decode()
    assert 'value="2027-04-02"' in page
    assert 'value="2026-03-16"' in page  # today, as the day of the test


def sent_as_shown(client: Client, item: DueItem, **changed: str) -> DueItem:
    """The item after its form was sent as the page showed it but for what was ``changed``."""
    form = client.get(path_of(item)).context["form"]
    proposed = form["next_due_on"].value()
    shown = proposed.isoformat() if proposed else ""
    typed = {"next_due_on": shown, "initial-next_due_on": shown, "note": ""}
    client.post(path_of(item), sent(**typed) | changed)
    item.refresh_from_db()
    return item


def test_a_proposal_left_alone_follows_the_day_of_the_test(everyone: dict[str, Client], mot: DueItem) -> None:
    # 1 March is more than a month before expiry: a year from the test less a day, not 2 April 2027 as shown.
    assert sent_as_shown(everyone["keeper"], mot, done_on="2026-03-01").due_on == date(2027, 2, 28)


def test_a_proposal_that_was_changed_is_taken_as_typed(everyone: dict[str, Client], mot: DueItem) -> None:
    changed = {"done_on": "2026-03-01", "next_due_on": "2027-03-15"}
    assert sent_as_shown(everyone["keeper"], mot, **changed).due_on == date(2027, 3, 15)


def test_sent_twice_it_moves_on_once(everyone: dict[str, Client], mot: DueItem) -> None:
    form = sent(**{"next_due_on": "2027-04-02", "initial-next_due_on": "2027-04-02"})
    for _ in range(2):
        assert everyone["keeper"].post(path_of(mot), form).url == "/cars/QA51ABC/"
    mot.refresh_from_db()
    assert mot.due_on == date(2027, 4, 2)
    assert Completion.objects.count() == 1


def test_a_service_asks_for_the_odometer_and_keeps_it(everyone: dict[str, Client], service: DueItem, car: Car) -> None:
    assert sent_as_shown(everyone["keeper"], service, odometer="48,200").due_on == date(2027, 3, 16)
    assert service.due_miles == 58_200
    assert OdometerReading.objects.get(car=car).miles == 48_200


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"done_on": "2026-03-17", "odometer": "48200"}, "done_on"),
        ({"done_on": "", "odometer": "48200"}, "done_on"),
        ({"done_on": "2026-03-16", "odometer": ""}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "48.200"}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "39999"}, "odometer"),
        ({"done_on": "2026-03-16", "odometer": "41200", "next_due_on": "2026-03-16"}, "next_due_on"),
    ],
)
def test_wrong_input_is_told_beside_its_field_and_kept(
    everyone: dict[str, Client], service: DueItem, car: Car, typed: dict[str, str], wrong: str
) -> None:
    OdometerReadingFactory(car=car, read_on=date(2026, 3, 1), miles=40_000)
    response = everyone["keeper"].post(path_of(service), sent(**typed, note="Half typed"))
    form = response.context["form"]
    assert [name for name in form.fields if said_at(form, name)] == [wrong]
    assert form[wrong].value() == typed[wrong]
    assert form["note"].value() == "Half typed"
    assert not Completion.objects.exists()
    service.refresh_from_db()
    assert service.due_on == date(2026, 4, 2)


def test_cover_needs_the_new_last_day(everyone: dict[str, Client], car: Car) -> None:
    insurance = DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 20))
    page = everyone["keeper"].get(path_of(insurance)).content.decode()
    assert "So far: 20 March 2026. Take the new date from the paper." in page
    assert 'name="odometer"' not in page
    response = everyone["keeper"].post(path_of(insurance), sent(next_due_on="", tuition="yes"))
    assert set(response.context["form"].errors) == {"next_due_on"}
    everyone["keeper"].post(path_of(insurance), sent(next_due_on="2027-03-20", tuition="yes"))
    insurance.refresh_from_db()
    assert insurance.due_on == date(2027, 3, 20)


def test_renewing_overdue_cover_puts_the_car_back_on_the_road(everyone: dict[str, Client], car: Car) -> None:
    insurance = DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 10))
    assert "Do not use this car" in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    everyone["keeper"].post(path_of(insurance), sent(next_due_on="2027-03-15", tuition="yes"))
    assert "Do not use this car" not in everyone["keeper"].get("/cars/QA51ABC/").content.decode()


def test_what_comes_once_is_closed(everyone: dict[str, Client], car: Car) -> None:
    once = DueItemFactory(car=car, kind="other", note="Fit a mirror", due_on=date(2026, 4, 1))
    response = everyone["keeper"].post(path_of(once), sent(), follow=True)
    assert "Fit a mirror: recorded as done on 16 March 2026. It does not come back." in response.content.decode()
    once.refresh_from_db()
    assert once.closed_on == date(2026, 3, 16)


def test_a_credential_is_renewed_by_its_holder_and_leads_back_to_their_page(
    everyone: dict[str, Client], keeper: Member
) -> None:
    item = DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 31))
    typed = sent(next_due_on="2030-03-31")
    assert everyone["colleague"].post(path_of(item), typed).status_code == 404
    assert everyone["keeper"].post(path_of(item), typed).url == reverse("fleet:profile")
    item.refresh_from_db()
    assert item.due_on == date(2030, 3, 31)


# --- What it cost, and its paper --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "category"),
    [("mot", "mot"), ("service", "servicing"), ("dual_controls", "servicing"), ("other", "other")],
)
def test_done_and_paid_are_entered_at_once(everyone: dict[str, Client], car: Car, kind: str, category: str) -> None:
    item = DueItemFactory(car=car, kind=kind, due_on=date(2026, 4, 2), note="Fit a mirror")
    everyone["keeper"].post(path_of(item), sent(amount="£54.85", done_on="2026-03-12"))
    cost, completion = CostEntry.objects.get(), Completion.objects.get()
    assert (cost.category, cost.amount, cost.paid_on) == (category, Decimal("54.85"), date(2026, 3, 12))
    assert (cost.member, cost.car, cost.ref) == (car.keeper, car, completion.cost_ref)


def test_sent_twice_it_is_done_once_and_paid_once(everyone: dict[str, Client], mot: DueItem) -> None:
    form = sent(amount="54.85", advisories="Front tyre near the limit")
    for _ in range(2):
        assert everyone["keeper"].post(path_of(mot), form).status_code == 303
    assert (Completion.objects.count(), CostEntry.objects.count(), Defect.objects.count()) == (1, 1, 1)


def test_a_cost_forgotten_at_first_is_hung_on_what_is_recorded(everyone: dict[str, Client], mot: DueItem) -> None:
    everyone["keeper"].post(path_of(mot), sent())
    for _ in range(2):
        everyone["keeper"].post(path_of(mot), sent(amount="54.85"))
    assert Completion.objects.get().cost_ref == CostEntry.objects.get().ref


def test_a_reference_that_is_none_is_refused(everyone: dict[str, Client], mot: DueItem) -> None:
    response = everyone["keeper"].post(path_of(mot), sent(ref="none", next_due_on="2027-04-02", amount="54.85"))
    assert response.status_code == 200
    assert response.context["form"].errors["ref"] == ["Reload the page and try again."]
    assert not Completion.objects.exists()


def test_a_second_cost_of_the_same_is_refused(everyone: dict[str, Client], mot: DueItem) -> None:
    everyone["keeper"].post(path_of(mot), sent(amount="54.85"))
    response = everyone["keeper"].post(path_of(mot), sent(amount="50.00"))
    assert set(response.context["form"].errors) == {"amount"}
    assert CostEntry.objects.get().amount == Decimal("54.85")


def test_a_coordinator_is_asked_for_no_cost_and_one_that_is_sent_is_not_logged(
    everyone: dict[str, Client], mot: DueItem
) -> None:
    assert 'name="amount"' in everyone["keeper"].get(path_of(mot)).content.decode()
    assert 'name="amount"' not in everyone["coordinator"].get(path_of(mot)).content.decode()
    everyone["coordinator"].post(path_of(mot), sent(amount="54.85"))
    assert not CostEntry.objects.exists()
    assert Completion.objects.get().cost_ref == ""


def test_a_credential_asks_for_no_cost_and_no_photo(everyone: dict[str, Client], keeper: Member) -> None:
    item = DueItemFactory(car=None, member=keeper, kind="adi_registration", due_on=date(2026, 3, 31))
    form = everyone["keeper"].get(path_of(item)).context["form"]
    assert {one.name for one in form.visible_fields()} == {"done_on", "next_due_on", "note"}


@pytest.mark.parametrize("typed", [{"amount": "45,2"}, {"amount": "-5"}, {"amount": "many"}])
def test_a_cost_that_cannot_be_read_leaves_nothing_done(
    everyone: dict[str, Client], mot: DueItem, typed: dict[str, str]
) -> None:
    response = everyone["keeper"].post(path_of(mot), sent(**typed))
    assert set(response.context["form"].errors) == {"amount"}
    assert not Completion.objects.exists()


def test_new_cover_is_paid_for_from_the_end_of_the_old(everyone: dict[str, Client], car: Car) -> None:
    tax = DueItemFactory(car=car, kind="vehicle_tax", due_on=date(2026, 3, 31))
    for _ in range(2):
        everyone["keeper"].post(path_of(tax), sent(ref=REF, next_due_on="2027-03-31", amount="195"))
    cost = CostEntry.objects.get()
    assert (cost.covers_from, cost.covers_to) == (date(2026, 4, 1), date(2027, 3, 31))
    tax.refresh_from_db()
    assert tax.due_on == date(2027, 3, 31)
    assert Completion.objects.get().was_due_on == date(2026, 3, 31)
    assert tax.history.count() == 2  # made, and moved on once: the cost moved it no second time


def test_cover_that_had_lapsed_is_paid_for_from_the_day_it_was_renewed(everyone: dict[str, Client], car: Car) -> None:
    tax = DueItemFactory(car=car, kind="vehicle_tax", due_on=date(2026, 2, 28))
    everyone["keeper"].post(path_of(tax), sent(next_due_on="2027-02-28", amount="195"))
    assert CostEntry.objects.get().covers_from == date(2026, 3, 16)


def test_tyres_are_asked_how_far_they_last(everyone: dict[str, Client], car: Car) -> None:
    CooperativeFactory(tyre_life_miles=22_000)
    tyres = DueItemFactory(car=car, kind="tyres", due_on=date(2026, 4, 2))
    assert 'value="22000"' in everyone["keeper"].get(path_of(tyres)).content.decode()
    everyone["keeper"].post(path_of(tyres), sent(amount="320", covers_miles="21,000"))
    assert CostEntry.objects.get().covers_miles == 21_000


def test_a_photo_of_the_paper_is_for_whoever_took_it(everyone: dict[str, Client], mot: DueItem, car: Car) -> None:
    everyone["keeper"].post(path_of(mot), sent() | {"picture": SimpleUploadedFile("paper.jpg", picture_bytes())})
    photo = Completion.objects.get().photo
    assert photo is not None
    assert (photo.car, photo.taken_by, photo.is_of_defect) == (car, car.keeper, False)
    link = reverse("fleet:photo", args=[photo.pk])
    assert link in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert link not in everyone["coordinator"].get("/cars/QA51ABC/").content.decode()


def test_what_it_cost_is_shown_to_whoever_paid_and_nobody_else(everyone: dict[str, Client], mot: DueItem) -> None:
    everyone["keeper"].post(path_of(mot), sent(amount="54.85"))
    assert "It cost you £54.85." in everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    seen = everyone["coordinator"].get("/cars/QA51ABC/").content.decode()
    assert "16 March 2026" in seen
    assert "54.85" not in seen


# --- Paid before it is recorded as done -------------------------------------------------------------------


def test_a_cost_in_the_book_is_not_asked_for_again(everyone: dict[str, Client], mot: DueItem, car: Car) -> None:
    cost = CostEntryFactory(car=car, category="mot", paid_on=date(2026, 3, 12), amount="54.85")
    address = f"{path_of(mot)}?cost={cost.ref}"
    response = everyone["keeper"].get(address)
    assert "£54.85, paid on 12 March 2026" in response.content.decode()
    assert "amount" not in response.context["form"].fields
    assert 'value="2026-03-12"' in response.content.decode()
    for _ in range(2):
        everyone["keeper"].post(address, sent(done_on="2026-03-12", amount="54.85"))
    assert Completion.objects.get().cost_ref == cost.ref
    assert CostEntry.objects.count() == 1


@pytest.mark.parametrize("whose", ["another's", "of another kind", "none"])
def test_a_cost_that_is_not_ones_own_or_not_of_this_is_none(
    everyone: dict[str, Client], mot: DueItem, car: Car, colleague: Member, whose: str
) -> None:
    refs = {
        "another's": CostEntryFactory(car=car, member=colleague, category="mot").ref,
        "of another kind": CostEntryFactory(car=car, category="repairs").ref,
        "none": "no-such-cost",
    }
    response = everyone["keeper"].get(f"{path_of(mot)}?cost={refs[whose]}")
    assert response.context["form"].logged is None
    assert "amount" in response.context["form"].fields


# --- Insurance must cover tuition -------------------------------------------------------------------------


@pytest.fixture
def insurance(car: Car) -> DueItem:
    ConfirmationFactory(car=car, confirmed_on=date(2025, 3, 21), is_met=True)
    return DueItemFactory(car=car, kind="insurance", due_on=date(2026, 3, 20))


def test_renewed_insurance_must_be_asked_anew(everyone: dict[str, Client], insurance: DueItem) -> None:
    assert everyone["keeper"].get(path_of(insurance)).context["form"]["tuition"].value() is None
    response = everyone["keeper"].post(path_of(insurance), sent(next_due_on="2027-03-20"))
    assert set(response.context["form"].errors) == {"tuition"}
    assert not Completion.objects.exists()


@pytest.mark.parametrize(
    ("answer", "shown", "is_stopped"),
    [
        ("yes", "Covers driving tuition: yes, checked on 16 March 2026.", False),
        ("no", "Covers driving tuition: no, checked on 16 March 2026.", True),
        ("unknown", "nobody has confirmed that the policy covers tuition", False),
    ],
)
def test_what_was_answered_stands_by_the_insurance(
    everyone: dict[str, Client], insurance: DueItem, answer: str, shown: str, is_stopped: bool
) -> None:
    for _ in range(2):
        everyone["keeper"].post(path_of(insurance), sent(next_due_on="2027-03-20", tuition=answer))
    page = everyone["keeper"].get("/cars/QA51ABC/").content.decode()
    assert shown in page
    assert ("Do not use this car" in page) == is_stopped


def test_a_no_stands_until_somebody_has_looked_at_the_new_policy(
    everyone: dict[str, Client], insurance: DueItem, car: Car
) -> None:
    ConfirmationFactory(car=car, confirmed_on=date(2026, 3, 1), is_met=False)
    everyone["keeper"].post(path_of(insurance), sent(next_due_on="2027-03-20", tuition="unknown"))
    assert "Do not use this car" in everyone["keeper"].get("/cars/QA51ABC/").content.decode()


# --- A pass of the MOT ------------------------------------------------------------------------------------


def test_each_advisory_and_minor_item_is_watched_and_listed(
    everyone: dict[str, Client], mot: DueItem, car: Car
) -> None:
    typed = sent(advisories="Front tyre near the limit\n\n  Slight oil leak ", minor="Number plate lamp dim")
    response = everyone["keeper"].post(path_of(mot), typed)
    assert response.url == reverse("fleet:mot-findings", args=["QA51ABC"])
    found = Defect.objects.order_by("pk").values_list("description", "severity", "found_by")
    assert list(found) == [
        ("Number plate lamp dim", "watch", "mot"),
        ("Front tyre near the limit", "watch", "mot"),
        ("Slight oil leak", "watch", "mot"),
    ]


def test_a_pass_shows_what_an_earlier_test_found_and_is_still_open(
    everyone: dict[str, Client], mot: DueItem, car: Car
) -> None:
    DefectFactory(car=car, found_by="mot", severity="before_next_lesson", description="Brake pipe corroded")
    page = everyone["keeper"].post(path_of(mot), sent(), follow=True).content.decode()
    assert "recorded as done on 16 March 2026" in page
    assert "Brake pipe corroded" in page


def test_a_last_day_that_no_rule_gives_is_asked_about_once(everyone: dict[str, Client], mot: DueItem) -> None:
    typed = sent(next_due_on="2028-04-02")
    response = everyone["keeper"].post(path_of(mot), typed)
    assert "should run until a day between 15 March 2027 and 16 April 2027" in response.content.decode()
    assert 'name="as_on_paper"' in response.content.decode()
    assert not Completion.objects.exists()
    everyone["keeper"].post(path_of(mot), typed | {"as_on_paper": "on"})
    mot.refresh_from_db()
    assert mot.due_on == date(2028, 4, 2)


def test_the_29th_to_the_31st_are_said_to_be_unsettled(everyone: dict[str, Client], car: Car) -> None:
    item = DueItemFactory(car=car, kind="mot", due_on=date(2026, 3, 30))
    assert "From the 29th to the 31st the rule is not settled" in everyone["keeper"].get(path_of(item)).content.decode()


def test_the_odometer_may_be_kept_with_it(everyone: dict[str, Client], mot: DueItem, car: Car) -> None:
    everyone["keeper"].post(path_of(mot), sent(odometer="48,200"))
    assert OdometerReading.objects.get(car=car).miles == 48_200


def test_a_trainee_licence_is_proposed_its_six_months(everyone: dict[str, Client], colleague: Member) -> None:
    item = DueItemFactory(car=None, member=colleague, kind="pdi_licence", due_on=date(2026, 3, 20))
    assert sent_as_shown(everyone["colleague"], item).due_on == date(2026, 9, 15)
