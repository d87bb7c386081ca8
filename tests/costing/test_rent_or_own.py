"""The page /rent-or-own/: two quotes, answered to anybody. Today is Monday 16 March 2026."""

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from config.limits import spend
from costing.choosing.views.rent_or_own import ANSWERS_BY_CLIENT
from costing.models import Comparison
from tests.costing.pages import text_of
from tests.factories import CooperativeFactory, GroupFigureFactory

PAGE = reverse("costing:rent-or-own")
#: A hire-purchase agreement of three years, which costs £16,440 less than the rent.
QUOTES = {"rent": "168", "deposit": "1900", "payment": "218", "payments": "36", "final_payment": "0", "fees": "20"}
#: All that running it costs beside.
RUNNING = {
    "insurance": "900",
    "vehicle_tax_per_year": "195",
    "breakdown_per_year": "60",
    "mot": "54.85",
    "servicing_per_year": "260",
    "repairs_per_year": "400",
    "tyre_set": "320",
    "tyre_set_miles": "25000",
    "miles_per_year": "20000",
    "fit_out": "440",
}

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today")]


def finding(page: str) -> str:
    """The answer in the large letters."""
    [words] = re.findall(r'<h2 class="verdict">(.*?)</h2>', page, re.DOTALL)
    return " ".join(re.sub(r"<[^>]+>", "", words).split())


def answer(client: Client, **typed: str) -> tuple[str, str]:
    """The answer to figures typed, and the whole page in words."""
    response = client.post(PAGE, typed)
    assert response.status_code == 200
    return finding(response.content.decode()), text_of(response)


# --- What it says -----------------------------------------------------------------------------------------


def test_before_anything_is_typed_it_says_what_it_does_and_fills_in_nothing(client: Client) -> None:
    response = client.get(PAGE)
    page = response.content.decode()
    assert finding(page) == "Two quotes in hand? See which is cheaper."
    assert "You need no account. Nothing you type is stored or sent on." in text_of(response)
    assert re.findall(r'<input type="text"[^>]*value=', page) == []


def test_it_says_what_would_have_to_be_true(client: Client) -> None:
    """36 months have 156 weeks: 26,208.00 of rent, less 1,900.00, 36 x 218.00 and 20.00: 16,440.00, 456.66 a month."""
    words, page = answer(client, **QUOTES)
    assert words == (
        "Your own car is cheaper as long as all the rest stays below £456 a month, and fuel costs the same for both."
    )
    assert "The rest: insurance, vehicle tax, breakdown cover, MOT, servicing, repairs, tyres and fit-out." in page
    assert "That is £16,440 over these 36 months." in page
    assert "True even if your own car fetched nothing" in page
    assert "Fuel is left out for both." in page


def test_what_is_not_typed_of_the_credit_is_not_told(client: Client) -> None:
    _, page = answer(client, **{**QUOTES, "deposit": "", "final_payment": "", "fees": ""})
    assert "The rest: any deposit, any final payment, any fees, insurance," in page


def test_each_further_figure_narrows_the_answer(client: Client) -> None:
    """16,440.00 less three premiums of 900.00 leaves 13,740.00, 381.66 a month; what it fetches comes on top."""
    assert "below £381 a month" in answer(client, **QUOTES, insurance="900")[0]
    assert "below £492 a month" in answer(client, **QUOTES, insurance="900", value_at_horizon="4000")[0]


def test_few_parts_are_named_in_the_answer(client: Client) -> None:
    named = {name: RUNNING[name] for name in ("vehicle_tax_per_year", "breakdown_per_year", "mot", "fit_out")}
    words, _ = answer(client, **QUOTES, **named)
    assert words.startswith(
        "Your own car is cheaper as long as insurance, servicing, repairs and tyres together stay below £"
    )


def test_with_all_told_it_says_by_how_much(client: Client) -> None:
    """Own: 9,768.00 less 3,000.00; 3 x (900 + 195 + 60) = 3,465.00; MOT 164.55; 3 x 660 = 1,980.00; tyres 60,000 of
    25,000 miles, 768.00; 440.00: 13,585.55. Rent 26,208.00 and 150.00. Apart by 12,772.45."""
    words, page = answer(client, **QUOTES, **RUNNING, value_at_horizon="3000", rent_damage="150")
    assert words == "Your own car is cheaper, by £12,772, if fuel costs the same for both."
    assert "Counted: your own car fetches £3,000 after 36 months." in page
    assert "The rental is counted for these 36 months, with no deposit and nothing for ending it then." in page


def test_a_rent_that_is_cheaper_is_said_as_plainly(client: Client) -> None:
    """30 months have 130 weeks: 13,000.00 against 19,000.00 less 2,000.00."""
    typed = {"rent": "100", "price": "19000", "months": "30", "value_at_horizon": "2000"}
    words, _ = answer(client, **typed)
    assert words == (
        "Renting is cheaper as long as damage when it goes back comes to less than £4,000, "
        "and fuel costs the same for both."
    )
    words, _ = answer(client, **typed, rent_damage="0")
    assert words == "Renting is cheaper, by at least £4,000, if fuel costs the same for both."


def test_it_says_what_the_car_must_fetch(client: Client) -> None:
    """20,000.00 + 3,465.00 + 164.55 + 1,980.00 + 768.00 + 440.00 = 26,817.55, less 15,600.00 of rent and 150.00."""
    told = {**RUNNING, "rent": "100", "price": "20000", "months": "36", "rent_damage": "150"}
    words, _ = answer(client, **told)
    assert words == (
        "Your own car is cheaper as long as it fetches more than £11,068 at the end, and fuel costs the same for both."
    )


def test_where_nobody_can_say_it_says_what_decides(client: Client) -> None:
    words, page = answer(client, rent="100", price="19000", months="30")
    assert words == "What your own car fetches decides it."
    assert "So far your own car comes to £6,000 more than renting over these 30 months, with insurance," in page
    assert "Type what it may fetch at the end." in page


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"includes_asked": "1"}, "the rent a week"),
        ({"rent": "150"}, "the price of your own car, or its payment a month"),
        ({"rent": "150", "deposit": "900"}, "the payment a month"),
        ({"rent": "150", "payment": "200"}, "for how many months you pay"),
        ({"rent": "150", "price": "9000"}, "over how many months to compare"),
        ({"rent": "150", "price": "9000", "months": "24", "own_fuel": "12"}, "the miles a year"),
        ({"rent": "150", "payment": "200", "payments": "36", "months": "24"}, "the cash price of your own car"),
        ({**QUOTES, "price": "9000", "deposit": "", "months": "24"}, "the deposit, 0 if there is none"),
        ({**QUOTES, "price": "11000", "final_payment": ""}, "the final payment, 0 if there is none"),
        ({**QUOTES, "price": "11000"}, "the payment a month"),
        ({**QUOTES, "payment": "0"}, "the payment a month"),
    ],
)
def test_it_asks_for_the_next_figure(client: Client, typed: dict[str, str], words: str) -> None:
    assert answer(client, **typed)[0] == f"Next: {words}."


def test_leaving_before_the_last_payment_asks_for_the_price_beside_its_field(client: Client) -> None:
    page = client.post(PAGE, {**QUOTES, "months": "24"}).content.decode()
    row = page.split('id="id_price_words"')[1].split("</div>")[0]
    assert "Without the cash price nobody can tell what settling early costs." in row
    assert answer(client, **QUOTES, price="9000", months="24", value_at_horizon="4000")[0].startswith("Your own car is")


def test_where_half_of_the_price_ends_it_a_bank_loan_is_warned_of(client: Client) -> None:
    credit = {"price": "14200", "deposit": "1500", "payment": "318", "payments": "48", "final_payment": "10"}
    _, page = answer(client, rent="189", months="40", miles_per_year="18000", **credit)
    assert (
        "You leave while the payments still run: it goes back once half of its whole price is paid, which hire "
        "purchase and PCP allow and a bank loan does not." in page
    )


def test_a_final_payment_makes_it_a_pcp(client: Client) -> None:
    _, page = answer(client, **{**QUOTES, "final_payment": "5000"})
    assert "and damage when it goes back." in page
    assert "We assume that there is no limit to the miles of your own car." in page


def test_what_the_rent_covers_is_said_aloud(client: Client) -> None:
    assert "The rent covers all but fuel" in text_of(client.get(PAGE))
    ticked: dict[str, Any] = {**QUOTES, "includes_asked": "1"}
    assert "The rent covers the car alone" in text_of(client.post(PAGE, ticked))
    two = client.post(PAGE, {**ticked, "includes": ["insurance", "tyres"]})
    assert "The rent covers insurance and tyres only" in text_of(two)
    assert "vehicle tax, breakdown cover, MOT, servicing, repairs, fit-out and fuel cost the same" in text_of(two)
    every = ["insurance", "vehicle_tax", "breakdown", "mot", "servicing", "repairs", "tyres", "fit_out", "fuel"]
    assert "The rent covers everything" in text_of(client.post(PAGE, {**ticked, "includes": every}))


def test_a_usual_figure_is_told_only_where_it_has_a_source(client: Client) -> None:
    """The most that an MOT may cost is fixed for Great Britain; nothing else is proposed, and nothing is filled in."""
    assert "at most £54.85 (GOV.UK)" in text_of(client.get(PAGE))
    CooperativeFactory(nation="NI")
    assert "54.85" not in client.get(PAGE).content.decode()


# --- What may have a nought too many --------------------------------------------------------------------------


def asked_about(page: str, name: str) -> str:
    """What is asked below a row, if anything is."""
    words = page.split(f'id="id_{name}_words"')[1].split("<label for=")[0].split(">", 1)[1]
    return " ".join(re.sub(r"<[^>]*>?", " ", words).split())


@pytest.mark.parametrize(
    ("typed", "name", "words"),
    [
        ({"rent": "1680"}, "rent", "£1,680 a week? Check that there is no nought too many."),
        ({"payment": "2180"}, "payment", "£2,180 a month? Check that there is no nought too many."),
        (
            {"price": "9000", "value_at_horizon": "40000"},
            "value_at_horizon",
            "£40,000? That is more than the price.",
        ),
        (
            {"price": "4870"},
            "price",
            "£4,870? Deposit, payments and final payment come to £9,748, over twice as much.",
        ),
    ],
)
def test_a_nought_too_many_is_asked_about_and_counted_all_the_same(
    client: Client, typed: dict[str, str], name: str, words: str
) -> None:
    """1,900.00 and 36 x 218.00 are 9,748.00."""
    response = client.post(PAGE, {**QUOTES, **typed})
    page = response.content.decode()
    assert asked_about(page, name).startswith(f"{words} It is right")
    assert "Next" not in finding(page)
    assert "Look again at" in text_of(response)
    assert f'name="{name}_is_right"' in page
    ticked = client.post(PAGE, {**QUOTES, **typed, f"{name}_is_right": "1"})
    assert "Look again at" not in text_of(ticked)
    assert re.search(rf'name="{name}_is_right"\s+value="1"\s+hx-preserve\s+checked', ticked.content.decode())


def test_a_usual_figure_is_not_asked_about(client: Client) -> None:
    edge = {"rent": "600", "payment": "1500", "price": "27950", "value_at_horizon": "27950"}
    page = client.post(PAGE, {**QUOTES, **edge}).content.decode()
    assert "cheaper" in finding(page)
    assert "_is_right" not in page


def test_what_is_needed_next_goes_before_what_is_doubted(client: Client) -> None:
    page = client.post(PAGE, {**QUOTES, "price": "90000"}).content.decode()
    assert asked_about(page, "payment") == "All payments together are less than the price. Check them."


def test_a_term_is_no_longer_than_what_may_be_compared(client: Client) -> None:
    page = client.post(PAGE, {**QUOTES, "payments": "360"}).content.decode()
    assert "120" in asked_about(page, "payments")
    assert answer(client, **{**QUOTES, "payments": "120"})[0].startswith(("Your own", "Renting", "What"))


def test_one_month_is_one(client: Client) -> None:
    _, page = answer(client, rent="100", price="19000", months="1", value_at_horizon="18000")
    assert "after 1 month." in page
    assert "over this one month" in page or "for this one month" in page
    assert "1 months" not in page


# --- What somebody may send -------------------------------------------------------------------------------


@pytest.mark.parametrize("typed", ["1e999", "-5", "9" * 20_000, "x" * 20_000, "1,2", "NaN", "\0", "<script>", "٣"])
@pytest.mark.parametrize("name", ["rent", "price", "payments", "months", "miles_per_year", "own_fuel"])
def test_what_is_no_figure_is_refused_beside_its_field(client: Client, name: str, typed: str) -> None:
    page = client.post(PAGE, {**QUOTES, name: typed}).content.decode()
    assert finding(page) == "Something here cannot be counted yet."
    assert f'id="id_{name}_error"' in page
    assert "<script>x" not in page


def test_figures_that_do_not_go_together_are_named_beside_their_field(client: Client) -> None:
    page = client.post(PAGE, {**QUOTES, "price": "1500"}).content.decode()
    assert "leaves nothing to borrow" in page.split('id="id_deposit_words"')[1].split("</div>")[0]


def test_a_change_brings_the_answer_and_the_words_beside_the_fields(client: Client) -> None:
    page = client.post(PAGE, {**QUOTES, "months": "24"}, headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in page
    assert finding(page).startswith("Next: ")
    assert 'id="id_price_words" hx-swap-oob="true"' in page
    assert "<input" not in page


def test_nobody_keeps_the_page_and_it_leaves_nothing(client: Client) -> None:
    for response in (client.get(PAGE), client.post(PAGE, QUOTES)):
        assert response.headers["Cache-Control"] == "private, no-store"
        assert "default-src 'self'" in response.headers["Content-Security-Policy"]
        assert set(response.cookies) <= {"csrftoken"}
    assert not Comparison.objects.exists()
    assert "rent=" not in client.post(PAGE, QUOTES).content.decode()


def test_a_client_that_asks_too_often_waits(client: Client) -> None:
    for _ in range(ANSWERS_BY_CLIENT.most - 1):
        spend([ANSWERS_BY_CLIENT.of("127.0.0.1")])
    assert client.post(PAGE, QUOTES).status_code == 200
    response = client.post(PAGE, QUOTES)
    assert response.status_code == 429
    assert 0 < int(response.headers["Retry-After"]) <= ANSWERS_BY_CLIENT.seconds
    assert "Go on in 15 minutes, at 12:15 ." in text_of(response)
    assert client.get(PAGE).status_code == 200
    assert Client(REMOTE_ADDR="198.51.100.7").post(PAGE, QUOTES).status_code == 200


def test_a_member_is_not_kept_waiting_by_a_stranger_on_the_same_network(
    client: Client, everyone: dict[str, Client]
) -> None:
    for _ in range(ANSWERS_BY_CLIENT.most):
        spend([ANSWERS_BY_CLIENT.of("127.0.0.1")])
    assert client.post(PAGE, QUOTES).status_code == 429
    assert everyone["keeper"].post(PAGE, QUOTES).status_code == 200


def test_the_co_op_may_switch_it_off(client: Client, everyone: dict[str, Client]) -> None:
    sign_in = reverse("account_login")
    assert PAGE in client.get(sign_in).content.decode()
    assert PAGE in everyone["stranger"].get(reverse("costing:home")).content.decode()
    CooperativeFactory(rent_or_own_is_open=False)
    assert client.get(PAGE).status_code == 404
    assert client.post(PAGE, QUOTES).status_code == 404
    assert everyone["coordinator"].get(PAGE).status_code == 404
    assert PAGE not in client.get(sign_in).content.decode()
    assert PAGE not in everyone["stranger"].get(reverse("costing:home")).content.decode()


# --- The co-op's medians ----------------------------------------------------------------------------------


def test_only_a_member_sees_the_rounded_medians(client: Client, everyone: dict[str, Client]) -> None:
    GroupFigureFactory(span="year", insurance="950.00", repairs_per_year="400.00")
    assert "median" not in text_of(client.get(PAGE))
    page = text_of(everyone["stranger"].get(PAGE))
    assert "your co-op’s median £950" in page
    taken = {**QUOTES, "repairs_per_year": "150", "take_medians": "1"}
    page = everyone["stranger"].post(PAGE, taken).content.decode()
    assert re.search(r'name="insurance" value="950.00"', page)
    assert re.search(r'name="repairs_per_year" value="150"', page)
    assert "950" not in client.post(PAGE, taken).content.decode()
