"""What is asked about a bill and a pot: a nought too many, the same again, an odd day; nothing of what is ordinary."""

from datetime import date

import pytest

from costing.core.catalogue.bills import BILL_KINDS
from costing.core.plausible import cost
from costing.core.records import Cost
from costing.planning.core.plausible_pot import Entered, bill_doubts, bill_limits, plan_doubts, plan_limits, replaced
from fleet.core.plausible.doubt import Change, Doubt

TODAY = date(2027, 3, 1)
TAX = Entered("tax_bill", "", "2026-07-31", 612_40, "")
CAR = "QA51ABC"


def asked(kind: str, amount: int, due_on: str | None = "2027-07-31", **known: object) -> list[Doubt]:
    words, row = str(known.get("words", "")), BILL_KINDS[kind]
    paid = known.get("paid", ())
    own = cost.limits(paid, None, TODAY, {})["categories"][row.category] if row.falls_due and row.category else None  # type: ignore[arg-type]
    is_new = bool(known.get("is_new", True))
    limits = bill_limits(
        row, words, known.get("entered", [TAX]), own, TODAY, is_new=is_new, last_price=known.get("last_price")
    )  # type: ignore[arg-type]
    typed = {"kind": kind, "words": words, "car": known.get("car", ""), "amount": amount, "due_on": due_on}
    more = {"is_yearly": "on" if known.get("is_yearly") else "", "instead": known.get("instead", "")}
    return bill_doubts({**typed, **more}, limits)


def reasons(found: list[Doubt]) -> list[str]:
    return [doubt.reason for doubt in found]


def meant(found: list[Doubt]) -> list[tuple[Change, ...]]:
    return [meaning.changes for meaning in found[0].meanings]


@pytest.mark.parametrize("amount", [0, 153_10, 300_00, 2_449_60])
def test_an_ordinary_tax_bill_is_not_asked_about(amount: int) -> None:
    assert asked("tax_bill", amount) == []


@pytest.mark.parametrize("amount", [153_09, 2_449_61, 6_124_00])
def test_a_tax_bill_is_held_against_the_ones_before(amount: int) -> None:
    found = asked("tax_bill", amount)
    assert reasons(found) == ["bill"]
    assert found[0].figures == {"amount": amount, "title": "Tax bill", "usual": 612_40}


@pytest.mark.parametrize(
    ("kind", "words", "low", "high"),
    [
        ("tax_bill", "", 10_00, 20_000_00),
        ("adi_registration", "", 5_00, 1_000_00),
        ("other", "Sign", 1_00, 5_000_00),
    ],
)
def test_the_first_of_its_kind_is_held_against_common_practice(kind: str, words: str, low: int, high: int) -> None:
    others = [TAX._replace(kind="other", words="Permit"), TAX._replace(kind=kind, words=words, pence=0)]
    for amount in (low, high):
        assert asked(kind, amount, words=words, entered=others) == []
    for amount in (low - 1, high + 1):
        found = asked(kind, amount, words=words, entered=others)
        assert reasons(found) == ["bill_new"]
        assert found[0].figures["title"] == words or BILL_KINDS[kind].words


def test_the_law_bounds_an_mot() -> None:
    assert asked("mot", 54_85) == []
    found = asked("mot", 54_850_00)
    assert reasons(found) == ["sum_mot"]
    assert found[0].key == "sum_mot:mot||54850"
    assert meant(found)[0] == (Change("amount", "54.85"),)


def test_a_quote_is_held_against_what_was_paid_for_a_year() -> None:
    paid = [Cost(date(2026, 5, 3), "insurance", 840_00, date(2026, 5, 3), date(2027, 5, 2))]
    assert asked("insurance", 905_50, None, paid=paid) == []
    found = asked("insurance", 9_055_00, None, paid=paid)
    assert reasons(found) == ["sum_year"]
    assert meant(found)[0] == (Change("amount", "905.50"),)
    assert reasons(asked("insurance", 84_00, None, paid=paid)) == ["sum_year"]


def test_a_sum_ten_times_too_large_is_meant_to_the_penny() -> None:
    paid = [Cost(date(2026, 5, 3), "insurance", 1_036_80, date(2026, 5, 3), date(2027, 5, 2))]
    entered = [Entered("insurance", CAR, "", 1_124_50, "")]
    # Though it is in the list already: that is asked once it is chosen. Nobody meant its pence left out.
    for others in (entered, []):
        first, *rest = meant(asked("insurance", 11_245_00, None, paid=paid, car=CAR, entered=others))
        assert first == (Change("amount", "1124.50"),)
        assert not {(Change("amount", "1124"),), (Change("amount", "1125"),)} & set(rest)
    assert reasons(asked("insurance", 1_124_50, None, paid=paid, car=CAR, entered=entered)) == ["same_quote"]


def test_the_last_price_of_the_pot_is_what_a_quote_is_told_beside() -> None:
    paid = [Cost(date(2026, 5, 3), "insurance", 1_036_80, date(2026, 5, 3), date(2027, 5, 2))]
    (found,) = asked("insurance", 11_245_00, None, paid=paid, last_price=1_124_50)
    assert (found.reason, found.figures["usual"]) == ("sum_last", 1_124_50)
    (found,) = asked("mot", 54_850_00, last_price=54_85)
    assert found.reason == "sum_mot"


@pytest.mark.parametrize(("amount", "is_asked"), [(300_00, False), (1_200_00, False), (1_200_01, True)])
def test_a_quote_of_more_than_twice_the_last_price_is_asked_about(amount: int, is_asked: bool) -> None:
    paid = [Cost(date(2026, 5, 3), "insurance", 600_00, date(2026, 5, 3), date(2027, 5, 2))]
    assert bool(asked("insurance", amount, None, paid=paid, last_price=600_00)) is is_asked
    if is_asked:
        (found,) = asked("insurance", amount, None, paid=paid, last_price=600_00)
        assert (found.reason, found.figures["usual"]) == ("sum_last", 600_00)


def test_the_last_price_itself_is_never_asked_about() -> None:
    paid = [Cost(date(2026, 5, 3), "insurance", 2_000_00, date(2026, 5, 3), date(2027, 5, 2))]
    assert asked("insurance", 80_00, None, paid=paid, last_price=80_00) == []


def test_the_same_bill_is_asked_about_and_can_be_left_out() -> None:
    same = TAX._replace(due_on="2027-07-31")
    found = asked("tax_bill", 612_40, entered=[same])
    assert reasons(found) == ["same_bill"]
    assert meant(found) == [(Change("leave_out", "on"),)]
    found = asked("tax_bill", 612_40, entered=[same], is_new=False)
    assert (reasons(found), meant(found)) == (["same_bill"], [])
    assert asked("tax_bill", 612_40, "2027-01-31", entered=[same], is_yearly=True) == []


def test_the_same_bill_with_another_sum_or_near_its_day_is_asked_about_and_can_take_its_place() -> None:
    there = TAX._replace(due_on="2027-07-31", number=7)
    for amount, due_on in ((650_00, "2027-07-31"), (612_40, "2027-07-30"), (650_00, "2027-07-10")):
        found = asked("tax_bill", amount, due_on, entered=[there])
        assert (reasons(found), meant(found)[0]) == (["near_bill"], (Change("instead", "7"),))
        assert found[0].figures == {"amount": amount, "title": "Tax bill", "day": "2027-07-31", "there": 612_40}
        assert asked("tax_bill", amount, due_on, entered=[there], instead="7") == []
    assert reasons(asked("tax_bill", 650_00, entered=[there], instead="8")) == ["near_bill"]
    # The bill of the month before is another one, and so is one that was put right.
    assert asked("tax_bill", 650_00, "2027-07-09", entered=[there]) == []
    assert reasons(asked("tax_bill", 650_00, entered=[there], is_new=False)) == ["near_bill"]
    assert meant(asked("tax_bill", 650_00, entered=[there], is_new=False)) == []


@pytest.mark.parametrize(
    ("changed", "number"),
    [
        ({}, 7),
        ({"instead": ""}, None),
        ({"instead": "8"}, None),
        ({"due_on": "2027-01-31"}, None),
        ({"kind": "other", "words": "Laptop"}, None),
        ({"amount": 612_40}, None),
    ],
)
def test_a_place_is_taken_only_while_its_bill_is_the_one_asked_about(
    changed: dict[str, object], number: int | None
) -> None:
    there = TAX._replace(due_on="2027-07-31", number=7)
    typed = {"kind": "tax_bill", "words": "", "car": "", "amount": 650_00, "due_on": "2027-07-31", "instead": "7"}
    typed |= {"is_yearly": ""} | changed
    limits = bill_limits(BILL_KINDS[typed["kind"]], typed["words"], [there], None, TODAY, is_new=True, last_price=None)
    assert replaced(typed, limits) == number


def test_of_two_that_are_near_the_nearer_is_meant() -> None:
    there = [TAX._replace(due_on=f"2027-07-{day}", number=day) for day in (15, 28, 20)]
    assert meant(asked("tax_bill", 650_00, entered=there))[0] == (Change("instead", "28"),)


def test_one_that_comes_every_year_is_near_each_time() -> None:
    yearly = TAX._replace(due_on="2024-07-31", is_yearly=True, number=7)
    assert reasons(asked("tax_bill", 650_00, entered=[yearly])) == ["near_bill"]
    assert reasons(asked("tax_bill", 650_00, "2027-08-20", entered=[yearly])) == ["near_bill"]
    assert asked("tax_bill", 650_00, "2027-03-31", entered=[yearly]) == []
    # Around the turn of a year, too; but not before it began.
    new_year = yearly._replace(due_on="2024-12-31")
    assert reasons(asked("tax_bill", 650_00, "2028-01-05", entered=[new_year])) == ["near_bill"]
    assert reasons(asked("tax_bill", 650_00, "2027-12-20", entered=[new_year])) == ["near_bill"]
    later = yearly._replace(due_on="2029-07-31")
    assert asked("tax_bill", 650_00, entered=[later]) == []
    assert reasons(asked("tax_bill", 650_00, entered=[later], is_yearly=True)) == ["near_bill"]


def test_what_is_for_something_else_or_another_car_is_another_bill() -> None:
    phone = Entered("other", CAR, "2027-07-31", 20_00, "Phone")
    assert reasons(asked("other", 25_00, words="phone", car=CAR, entered=[phone])) == ["near_bill"]
    assert reasons(asked("other", 25_00, words="Phone", entered=[phone])) == ["near_bill"]
    assert asked("other", 25_00, words="Phone", car="QB52XYZ", entered=[phone]) == []
    assert asked("other", 25_00, words="Permit", car=CAR, entered=[phone]) == []
    assert asked("tax_bill", 25_00, entered=[phone]) == []
    # Of two quotes for what falls due only one counts.
    quote = Entered("service", CAR, "2027-07-31", 230_00, "")
    assert asked("service", 240_00, car=CAR, entered=[quote]) == []
    # Whoever planned no day for it said nothing of this one.
    assert asked("other", 25_00, words="Phone", entered=[phone._replace(due_on="")]) == []


def test_the_same_quote_is_asked_about_without_a_day() -> None:
    same = Entered("service", CAR, "", 230_00, "")
    assert reasons(asked("service", 230_00, None, car=CAR, entered=[same])) == ["same_quote"]
    assert asked("service", 230_00, None, entered=[same]) == []


def test_a_day_that_has_passed_is_asked_about_unless_it_comes_again() -> None:
    assert asked("tax_bill", 612_40, "2027-03-01") == []
    assert asked("tax_bill", 612_40, "2026-01-31", is_yearly=True) == []
    found = asked("tax_bill", 612_40, "2026-01-31")
    assert (reasons(found), found[0].field) == (["bill_past"], "due_on")
    assert meant(found) == [
        (Change("due_on", "2027-03-01"),),
        (Change("due_on", "2028-01-31"),),
        (Change("is_yearly", "on"),),
    ]
    # What falls due by itself does not come every year.
    assert meant(asked("service", 230_00, "2026-06-01")) == [
        (Change("due_on", "2027-03-01"),),
        (Change("due_on", "2027-06-01"),),
    ]


def test_a_day_far_ahead_is_asked_about() -> None:
    assert asked("driving_licence", 14_00, "2037-02-28") == []
    found = asked("tax_bill", 612_40, "2090-07-31")
    assert reasons(found) == ["bill_far"]
    assert meant(found) == [(Change("due_on", "2027-07-31"),)]


# --- The pot ----------------------------------------------------------------------------------------------


def pot_asked(balance: int, weekly: int | None = None, **known: object) -> list[Doubt]:
    limits = plan_limits(**{"total": 2_600_00, "evenly": 50_00, "needed": 60_00} | known)  # type: ignore[arg-type]
    return plan_doubts({"balance": balance, "weekly": weekly, "off_1_to": 26}, limits)


@pytest.mark.parametrize(("balance", "weekly"), [(0, 0), (420_00, None), (5_200_00, 150_00)])
def test_an_ordinary_pot_is_not_asked_about(balance: int, weekly: int | None) -> None:
    assert pot_asked(balance, weekly) == []


def test_a_nought_too_many_is_asked_about() -> None:
    found = pot_asked(5_200_01, 150_01)
    assert [(doubt.field, doubt.reason) for doubt in found] == [("balance", "pot_bills"), ("weekly", "weekly_bills")]
    found = pot_asked(42_000_00)
    assert found[0].figures == {"balance": 42_000_00, "total": 2_600_00, "last": 0, "since": ""}
    assert (Change("balance", "420"),) in meant(found)


def test_what_was_in_the_pot_last_says_more() -> None:
    last = (date(2027, 2, 1), 1_000_00)
    assert pot_asked(3_000_00, last=last) == []
    assert reasons(pot_asked(3_000_01, last=last)) == ["pot_last"]
    # All that the year asks for is no surprise.
    assert pot_asked(2_600_00, last=(date(2027, 2, 1), 10_00)) == []


def test_a_weekly_sum_may_be_what_the_first_bills_ask_for() -> None:
    assert pot_asked(0, 800_00, needed=400_00) == []
    limits = plan_limits(total=2_600_00, evenly=50_00, needed=60_00, weekly=300_00)
    assert plan_doubts({"balance": 0, "weekly": 900_00, "off_1_to": 0}, limits) == []


def test_more_than_half_a_year_of_holiday_is_asked_about() -> None:
    limits = plan_limits(total=2_600_00, evenly=50_00, needed=60_00)
    [found] = plan_doubts({"balance": 0, "weekly": None, "off_1_to": 27}, limits)
    assert (found.field, found.reason, found.figures) == ("off_1_to", "holiday_long", {"weeks": 27})


def test_the_sum_of_a_month_is_that_of_a_week_to_the_penny() -> None:
    found = pot_asked(0, 318_75, evenly=70_00)
    assert reasons(found) == ["weekly_bills"]
    assert found[0].meanings[0].changes == (Change("weekly", "73.56"),)
    assert found[0].meanings[0].name == "monthly"


def test_without_bills_common_practice_speaks() -> None:
    none = {"total": 0, "evenly": 0, "needed": 0}
    assert pot_asked(3_000_00, 100_00, **none) == []
    assert reasons(pot_asked(3_000_01, 100_01, **none)) == ["pot_new", "weekly_new"]
