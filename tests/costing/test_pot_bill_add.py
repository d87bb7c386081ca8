"""A bill that is coming, or a quote for what falls due."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config import budgets
from costing.models import PotBill
from fleet.models import Car
from tests.costing.pages import new_ref, save, shown, text_of
from tests.factories import CarFactory, CostEntryFactory, DueItemFactory, PotBillFactory

ADD = reverse("costing:pot-bill-add")

pytestmark = pytest.mark.usefixtures("today")


def typed(**changes: Any) -> dict[str, Any]:
    sent = {"ref": new_ref(), "kind": "tax_bill", "words": "", "amount": "612.40", "due_on": "2026-07-31", "car": ""}
    return sent | changes


def test_a_bill_is_entered(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(kind="other", words="Sign for the roof", is_yearly="on", car=car.registration)
    response = everyone["keeper"].post(ADD, sent)
    assert (response.status_code, response.url) == (303, reverse("costing:pot"))
    bill = PotBill.objects.get()
    assert (bill.member, bill.car, bill.kind, bill.words) == (car.keeper, car, "other", "Sign for the roof")
    assert (bill.amount, bill.due_on, bill.is_yearly, bill.ref) == (
        *(Decimal("612.40"), date(2026, 7, 31), True),
        sent["ref"],
    )
    assert "Entered: Sign for the roof, £612.40." in shown(everyone["keeper"], response.url)


def test_a_day_that_has_passed_is_said_to_count_no_more(everyone: dict[str, Client], car: Car) -> None:
    save(everyone["keeper"], ADD, typed(kind="other", words="Sign", due_on="2026-01-31"))
    everyone["keeper"].post(ADD, typed(kind="other", words="Permit", due_on="2026-02-28", is_yearly="on"))
    page = shown(everyone["keeper"], reverse("costing:pot"))
    assert "31 January 2026, which has passed: taken as paid" in page
    assert "every year from 28 February 2026, QA51 ABC £" in page


def test_only_what_suits_its_kind_is_kept(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed(words="not this", car=car.registration, is_yearly="on"))
    tax = PotBill.objects.get()
    assert (tax.car, tax.words, tax.is_yearly) == (None, "", True)
    everyone["keeper"].post(ADD, typed(kind="mot", amount="54.85", due_on="", is_yearly="on", car=car.registration))
    mot = PotBill.objects.get(kind="mot")
    assert (mot.car, mot.due_on, mot.is_yearly) == (car, None, False)


def test_sent_twice_it_is_entered_once(everyone: dict[str, Client], car: Car) -> None:
    sent = typed()
    everyone["keeper"].post(ADD, sent)
    again = everyone["keeper"].post(ADD, sent | {"amount": "1.00"}, follow=True)
    assert "Already entered, nothing was added: Tax bill, £612.40." in text_of(again)
    assert PotBill.objects.get().amount == Decimal("612.40")


def test_somebody_elses_reference_is_refused(everyone: dict[str, Client], car: Car) -> None:
    taken = PotBillFactory(ref=new_ref())
    page = text_of(everyone["keeper"].post(ADD, typed(ref=taken.ref)))
    assert "This page is out of date" in page
    assert PotBill.objects.get() == taken


def test_the_address_proposes_what_is_not_known(everyone: dict[str, Client], car: Car) -> None:
    CarFactory(keeper=car.keeper)
    page = everyone["keeper"].get(f"{ADD}?kind=mot&car={car.registration}").content.decode()
    assert '<option value="mot" selected>' in page
    assert f'<option value="{car.registration}" selected>' in page


def test_of_one_car_there_is_nothing_to_choose(everyone: dict[str, Client], car: Car) -> None:
    assert 'name="car"' not in everyone["keeper"].get(ADD).content.decode()
    sent = typed(kind="mot", amount="54.85", due_on="")
    del sent["car"]
    assert everyone["keeper"].post(ADD, sent).status_code == 303
    quote = PotBill.objects.get()
    assert quote.car == car
    # What was for each of them stays so, whatever else is put right.
    for_all = PotBillFactory(member=car.keeper, kind="service", due_on=None, car=None, amount="230.00")
    for bill, still in ((quote, car), (for_all, None)):
        changed = {"kind": bill.kind, "amount": "54.00" if bill == quote else "231.00", "due_on": ""}
        address = reverse("costing:pot-bill-correct", args=[bill.pk])
        assert everyone["keeper"].post(address, changed).status_code == 303
        bill.refresh_from_db()
        assert (str(bill.amount), bill.car) == (changed["amount"], still)


def test_it_says_what_a_quote_for_all_cars_means(everyone: dict[str, Client], car: Car) -> None:
    CarFactory(keeper=car.keeper)
    page = shown(everyone["keeper"], ADD)
    assert "All your cars" in page
    assert (
        "A quote for one car goes before one for all. £0 for all your cars means that you pay for none of them." in page
    )


def test_without_a_car_it_is_not_asked_for(everyone: dict[str, Client]) -> None:
    assert 'name="car"' not in everyone["stranger"].get(ADD).content.decode()
    assert everyone["stranger"].post(ADD, typed()).status_code == 303
    assert PotBill.objects.get().car is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": ""}, "Choose one."),
        ({"kind": "nonsense"}, "is not one of the available choices"),
        ({"kind": "other"}, "Say what it is for."),
        ({"kind": "other", "words": "one\x0btwo"}, "without control characters"),
        ({"due_on": ""}, "Give the day on which it is to be paid."),
        ({"amount": ""}, "Fill this in."),
        ({"amount": "-1"}, "must be between"),
        ({"kind": "mot", "car": "QZ99ZZZ"}, "is not one of the available choices"),
    ],
)
def test_what_will_not_do_is_said(everyone: dict[str, Client], car: Car, changes: dict[str, str], words: str) -> None:
    CarFactory(keeper=car.keeper)
    assert words in text_of(everyone["keeper"].post(ADD, typed(**changes)))
    assert not PotBill.objects.exists()


def test_there_is_a_most(everyone: dict[str, Client], car: Car, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(budgets, "POT_BILLS", 1)
    PotBillFactory(member=car.keeper)
    assert "You have 1 bills and quotes, which is the most" in text_of(
        everyone["keeper"].post(ADD, typed(amount="640", due_on="2026-12-31"))
    )


# --- What can hardly be right -----------------------------------------------------------------------------


def asked(client: Client, **changes: Any) -> Any:
    """The form after a post that is asked about; nothing was entered."""
    before = PotBill.objects.count()
    response = client.post(ADD, typed(**changes))
    assert response.status_code == 200
    assert PotBill.objects.count() == before
    return response.context["form"]


def test_the_law_bounds_the_fee_of_an_mot(everyone: dict[str, Client], car: Car) -> None:
    sent = {"kind": "mot", "amount": "54850", "due_on": "2026-08-01", "car": car.registration}
    question = asked(everyone["keeper"], **sent).questions["amount"]
    assert question.why == "£54,850 for an MOT? A test may cost £54.85 at most."
    assert question.meanings[0].words == "£54.85"
    response = everyone["keeper"].post(ADD, typed(**sent, meant=question.meanings[0].value))
    assert response.status_code == 303
    assert PotBill.objects.get().amount == Decimal("54.85")


def test_a_quote_is_held_against_what_was_paid(everyone: dict[str, Client], car: Car) -> None:
    CarFactory(keeper=car.keeper)
    year = {"paid_on": "2025-05-03", "covers_from": "2025-05-03", "covers_to": "2026-05-02"}
    CostEntryFactory.create(car=car, category="insurance", amount="840.00", **year)
    sent = {"kind": "insurance", "due_on": "", "car": car.registration}
    question = asked(everyone["keeper"], **sent, amount="9055").questions["amount"]
    assert question.why == "£9,055 for insurance? A year of it usually costs you about £840."
    assert question.meanings[0].words == "£905.50"
    assert everyone["keeper"].post(ADD, typed(**sent, amount="905.50")).status_code == 303
    # For no single car, only what it usually costs speaks.
    question = asked(everyone["keeper"], kind="insurance", due_on="", amount="84000").questions["amount"]
    assert "That is far from what it usually costs." in question.why


def test_a_tax_bill_is_held_against_the_ones_before(everyone: dict[str, Client], car: Car) -> None:
    PotBillFactory(member=car.keeper, due_on="2025-07-31")
    question = asked(everyone["keeper"], amount="6124").questions["amount"]
    assert question.why == "£6,124 for the tax bill? So far it was about £612."
    assert save(everyone["keeper"], ADD, typed(amount="6124")).status_code == 303


def test_the_same_bill_twice_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed())
    question = asked(everyone["keeper"]).questions["amount"]
    assert question.why == ("£612.40 for the tax bill on 31 July 2026 is in your list already. Is this another one?")
    assert question.right == "Yes, another one"
    assert [likely.words for likely in question.meanings] == ["Leave it out"]
    left_out = everyone["keeper"].post(ADD, typed(meant=question.meanings[0].value), follow=True)
    assert "Left out: nothing was added." in text_of(left_out)
    assert PotBill.objects.count() == 1
    save(everyone["keeper"], ADD, typed())
    assert PotBill.objects.count() == 2


def test_the_same_bill_with_another_sum_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed())
    question = asked(everyone["keeper"], amount="650").questions["amount"]
    assert question.why == ("£612.40 for the tax bill on 31 July 2026 is in your list already. Is £650 another one?")
    assert question.right == "Yes, another one"
    assert question.meanings[0].words == "No, put it in its place"
    put = everyone["keeper"].post(ADD, typed(amount="650", meant=question.meanings[0].value), follow=True)
    assert "Corrected: Tax bill, £650.00." in text_of(put)
    bill = PotBill.objects.get()
    assert (bill.amount, bill.history.count()) == (Decimal(650), 2)
    save(everyone["keeper"], ADD, typed(amount="700"))
    assert PotBill.objects.count() == 2
    # Once it is said that they are two, neither is asked about again.
    address = reverse("costing:pot-bill-correct", args=[bill.pk])
    sent = {"kind": "tax_bill", "amount": "650", "due_on": "2026-07-31"}
    assert everyone["keeper"].post(address, sent).status_code == 303


@pytest.mark.parametrize(
    "changes",
    [
        {"due_on": "2026-09-30"},
        {"kind": "other", "words": "Laptop", "amount": "300"},
        # The same sum on the same day is asked about as another one.
        {"amount": "612.40"},
    ],
)
def test_what_is_no_longer_asked_about_stays_in_its_place(
    everyone: dict[str, Client], car: Car, changes: dict[str, str]
) -> None:
    there = PotBillFactory(member=car.keeper, amount="612.40", due_on="2026-07-31")
    question = asked(everyone["keeper"], amount="6124").questions["amount"]
    pressed = typed(amount="6124", meant=question.meanings[0].value)
    sent = everyone["keeper"].post(ADD, pressed).context["form"]["instead"].value()
    assert sent == str(there.pk)
    assert save(everyone["keeper"], ADD, typed(**{"instead": sent} | changes)).status_code == 303
    there.refresh_from_db()
    assert (there.amount, there.due_on, there.history.count()) == (Decimal("612.40"), date(2026, 7, 31), 1)
    assert PotBill.objects.count() == 2


def test_another_one_that_is_alike_now_is_asked_about_anew(everyone: dict[str, Client], car: Car) -> None:
    july = PotBillFactory(member=car.keeper, amount="612.40", due_on="2026-07-31")
    january = PotBillFactory(member=car.keeper, amount="580.00", due_on="2027-01-31")
    question = asked(everyone["keeper"], amount="650", due_on="2027-01-31", instead=str(july.pk)).questions["amount"]
    assert question.why == "£580 for the tax bill on 31 January 2027 is in your list already. Is £650 another one?"
    sent = typed(amount="650", due_on="2027-01-31", instead=str(july.pk))
    # That it is another one is an answer about January's: July's has no part in it.
    assert everyone["keeper"].post(ADD, sent | {"is_right": question.key}).status_code == 303
    for bill, amount in ((july, "612.40"), (january, "580.00")):
        bill.refresh_from_db()
        assert (bill.amount, bill.history.count()) == (Decimal(amount), 1)
    assert PotBill.objects.count() == 3


def test_one_that_is_gone_meanwhile_is_no_longer_replaced(everyone: dict[str, Client], car: Car) -> None:
    gone = PotBillFactory(member=car.keeper, due_on="2026-07-31", voided_at=timezone.now())
    assert everyone["keeper"].post(ADD, typed(instead=str(gone.pk))).status_code == 303
    assert everyone["keeper"].post(ADD, typed(due_on="2026-12-31", instead="999999")).status_code == 303
    assert PotBill.objects.filter(voided_at=None).count() == 2
    gone.refresh_from_db()
    assert (gone.amount, gone.history.count()) == (Decimal("612.40"), 1)


def test_nobody_puts_one_in_the_place_of_somebody_elses(everyone: dict[str, Client], car: Car) -> None:
    other = PotBillFactory(amount="300.00", due_on="2026-07-31")
    assert everyone["keeper"].post(ADD, typed(instead=str(other.pk))).status_code == 303
    other.refresh_from_db()
    assert other.amount == Decimal(300)
    assert PotBill.objects.get(member=car.keeper).amount == Decimal("612.40")


def test_a_day_that_has_passed_is_asked_about(everyone: dict[str, Client], car: Car) -> None:
    question = asked(everyone["keeper"], due_on="2020-01-31").questions["due_on"]
    assert question.why == "31 January 2020 has passed. Has it been paid? Then it no longer counts."
    assert question.right == "Yes, it has been paid"
    words = [likely.words for likely in question.meanings]
    assert words == ["No, it is to be paid now", "31 January 2027", "It comes every year"]
    sent = typed(due_on="2020-01-31", meant=question.meanings[2].value)
    assert everyone["keeper"].post(ADD, sent).status_code == 303
    assert PotBill.objects.get().is_yearly


def test_a_day_beyond_the_year_is_said_to_count_not_yet(everyone: dict[str, Client], car: Car) -> None:
    everyone["keeper"].post(ADD, typed(due_on="2027-07-31"))
    page = shown(everyone["keeper"], reverse("costing:pot"))
    assert "Entered: Tax bill, £612.40. It falls after these 12 months and does not count yet." in page
    assert "31 July 2027, after these 12 months" in page
    question = asked(everyone["keeper"], due_on="2090-08-31").questions["due_on"]
    assert question.why == "31 August 2090? That is more than ten years ahead."
    assert [likely.words for likely in question.meanings] == ["31 August 2026"]


def test_a_licence_that_ones_grade_does_not_have_needs_its_day(everyone: dict[str, Client], car: Car) -> None:
    sent = typed(kind="pdi_licence", amount="140", due_on="")
    page = text_of(everyone["keeper"].post(ADD, sent))
    assert "Your grade is ADI, which has no PDI licence: give the day, if you pay for one." in page
    assert not PotBill.objects.exists()
    assert save(everyone["keeper"], ADD, sent | {"due_on": "2026-05-01"}).status_code == 303
    assert save(everyone["keeper"], ADD, typed(kind="adi_registration", amount="300", due_on="")).status_code == 303


def test_a_quote_is_told_beside_the_last_price_of_the_pot(everyone: dict[str, Client], car: Car) -> None:
    DueItemFactory(car=car, kind="insurance", due_on="2026-05-31")
    for year, pounds in ((2024, "980.00"), (2025, "1036.80")):
        cover = {"covers_from": date(year, 6, 1), "covers_to": date(year + 1, 5, 31)}
        CostEntryFactory(car=car, category="insurance", amount=pounds, paid_on=date(year, 5, 30), **cover)
    sent = {"kind": "insurance", "amount": "11245.00", "due_on": "", "car": car.registration}
    question = asked(everyone["keeper"], **sent).questions["amount"]
    assert question.why == "£11,245 for insurance? The last price in your pot is £1,036.80."
    assert question.meanings[0].words == "£1,124.50"
    save(everyone["keeper"], ADD, typed(**sent | {"amount": "1124.50"}))
    quote = PotBill.objects.get()
    question = asked(everyone["keeper"], **sent).questions["amount"]
    assert question.why == "£11,245 for insurance? The last price in your pot is £1,124.50."
    assert question.meanings[0].words == "£1,124.50"
    # Of a quote that is put right, its own price says nothing.
    address = reverse("costing:pot-bill-correct", args=[quote.pk])
    assert "about £1,037" in text_of(everyone["keeper"].post(address, typed(**sent)))
