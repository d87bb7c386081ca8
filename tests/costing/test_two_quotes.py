"""What “Rent or your own?” says stays true, whatever was left empty: every combination, and random figures."""

import re
from datetime import date
from fractions import Fraction
from itertools import chain, combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costing.choosing.core.figures import figures
from costing.choosing.document.checks import Unreadable
from costing.choosing.forms.rent_or_own import RentOrOwnForm
from costing.choosing.pictures.rent_or_own import Answer, answer_of
from costing.choosing.services.two_quotes import USUALLY_INCLUDED, Told, asked_next, case_of, is_left_early
from costing.core.catalogue.running import AS_ASKED

TODAY = date(2026, 3, 16)
RUNNING = (
    "insurance",
    "vehicle_tax_per_year",
    "breakdown_per_year",
    "mot",
    "servicing_per_year",
    "repairs_per_year",
    "tyre_set",
    "fit_out",
)
OTHER = ("fees", "damage", "rent_damage")
#: The figures that tell each running cost.
KEYS_OF = {part.name: (part.key,) for part in AS_ASKED if part.key in RUNNING} | {"fuel": ("own_fuel", "rent_fuel")}
NINE = (
    "rent",
    "price",
    "deposit",
    "payment",
    "payments",
    "final_payment",
    "value_at_horizon",
    "months",
    "miles_per_year",
)
FURTHER = (*RUNNING, *OTHER, "tyre_set_miles", "own_fuel", "rent_fuel")
EMPTY = RentOrOwnForm({}, group=None)
assert EMPTY.is_valid()


@st.composite
def told(draw: st.DrawFn) -> Told:
    """Figures that go together, of which any may then be left empty."""
    found = dict(EMPTY.told)
    found |= {"rent": draw(st.integers(20_00, 300_00)), "months": draw(st.integers(1, 60))}
    found["miles_per_year"] = Fraction(draw(st.integers(1_000, 40_000)))
    if draw(st.booleans()):
        found |= draw(
            st.fixed_dictionaries({"deposit": st.integers(0, 5_000_00), "payment": st.integers(50_00, 500_00)})
        )
        found |= {
            "payments": draw(st.integers(6, 60)),
            "final_payment": draw(st.sampled_from([0, 0, 4_000_00, 9_000_00])),
        }
        repaid = found["payment"] * found["payments"] + found["final_payment"]
        found["price"] = found["deposit"] + draw(st.integers(1, repaid))
    else:
        found["price"] = draw(st.integers(1, 30_000_00))
    found["value_at_horizon"] = draw(st.integers(0, 15_000_00))
    found |= {name: draw(st.integers(0, 1_000_00)) for name in (*RUNNING, *OTHER)}
    found |= {"tyre_set_miles": Fraction(20_000), "own_fuel": Fraction(12), "rent_fuel": Fraction(14)}
    parts = st.sampled_from(("insurance", "mot", "tyres", "repairs", "fit_out", "fuel"))
    found["includes"] = draw(st.one_of(st.just(USUALLY_INCLUDED), st.frozensets(parts)))
    nine, further = st.sampled_from(NINE), st.sampled_from(FURTHER)
    left = draw(st.frozensets(nine, max_size=4)) | draw(st.one_of(st.just(frozenset(FURTHER)), st.frozensets(further)))
    return {**found, **dict.fromkeys(left)}


@st.composite
def all_told(draw: st.DrawFn, before: Told) -> Told:
    """The same with all that was left empty at some figure: nothing of it is ever below nought."""
    found = dict(before)
    for name in (*RUNNING, *OTHER, "deposit", "final_payment", "value_at_horizon"):
        if found[name] is None and (name not in ("deposit", "final_payment", "fees") or found["payments"]):
            found[name] = draw(st.integers(0, 20_000_00))
    found["miles_per_year"] = found["miles_per_year"] or Fraction(draw(st.integers(1_000, 40_000)))
    found["tyre_set_miles"] = found["tyre_set_miles"] or Fraction(20_000)
    fuel = Fraction(draw(st.integers(0, 40)))
    for name in ("own_fuel", "rent_fuel"):
        # What is left out of both must cost both the same; what one alone has not told may cost anything.
        both = before["own_fuel"] is None and before["rent_fuel"] is None
        if found[name] is None:
            found[name] = fuel if both else Fraction(draw(st.integers(0, 40)))
    return found


def totals(told: Told) -> tuple[int, int] | None:
    """What both come to in all; None where these figures do not go together."""
    if asked_next(told):
        return None
    try:
        case = case_of(told, TODAY, "GB")
    except Unreadable:
        return None
    own, rent = (figures(case, offer) for offer in case.offers)
    return (own.told, rent.told) if not own.not_told and not rent.not_told else None


def answered(told: Told) -> Answer | None:
    """What is said, if anything is."""
    if asked_next(told):
        return None
    try:
        return answer_of(told, TODAY, "GB")
    except Unreadable:
        return None


def pence(words: str) -> int:
    return int(words.replace(",", "")) * 100


def check(answer: Answer, before: Told, after: Told) -> None:
    """Hold what is said of the figures ``before`` against what both come to with all told ``after``."""
    if (found := totals(after)) is None or "cheaper" not in answer.finding or "fetches more" in answer.finding:
        return
    is_own = answer.finding.startswith("Your own")
    own, rent = found
    cheaper, dearer = (own, rent) if is_own else (rent, own)
    if answer.picture is None:
        assert cheaper <= dearer, answer.finding
        if by := re.search(r"by at least £([0-9,]+)", answer.finding):
            assert dearer - cheaper >= pence(by[1])
        elif by := re.search(r"by £([0-9,]+)", answer.finding):
            assert abs(dearer - cheaper - pence(by[1])) <= 50
    elif not is_left_early(before) and added_to(before, after, is_own=is_own) < room_of(answer, before):
        assert cheaper < dearer, answer.finding


@settings(max_examples=800)
@given(data=st.data(), before=told())
def test_what_is_said_is_true_whatever_was_left_empty(data: st.DataObject, before: Told) -> None:
    if answer := answered(before):
        check(answer, before, data.draw(all_told(before)))


def test_what_comes_back_of_a_tax_that_both_pay_is_not_counted_as_room() -> None:
    """In month 13 eleven twelfths of a second year's tax come back; each pays the rest."""
    quotes = {"rent": 74_52, "price": 1, "deposit": 0, "payment": 453_10, "payments": 8, "final_payment": 0}
    before = {**EMPTY.told, **quotes, "value_at_horizon": 0, "months": 13, "miles_per_year": Fraction(1_000)}
    before |= dict.fromkeys((*FURTHER, *OTHER)) | {"includes": frozenset()}
    after = before | dict.fromkeys((*RUNNING, *OTHER), 0) | {"own_fuel": Fraction(0), "rent_fuel": Fraction(0)}
    after |= {"tyre_set_miles": Fraction(20_000), "vehicle_tax_per_year": 36, "fees": 548_32}
    answer = answered(before)
    assert answer
    assert (room_of(answer, before), added_to(before, after, is_own=True)) == (548_00, 548_32)
    assert totals(after) == (417_351, 417_351)


HIRE_PURCHASE = {"price": 9_000_00, "deposit": 1_900_00, "payment": 218_00, "payments": 36, "final_payment": 0}
ON_PCP = {"price": 11_000_00, "deposit": 900_00, "payment": 190_00, "payments": 48, "final_payment": 4_000_00}
AT_ONCE = {"price": 8_000_00}


@pytest.mark.parametrize("own", [HIRE_PURCHASE, ON_PCP, AT_ONCE], ids=["hire purchase", "PCP", "at once"])
@pytest.mark.parametrize("months", [24, 36, 60])
def test_every_combination_of_the_nine_may_be_left_empty(own: dict[str, int], months: int) -> None:
    """Whatever is missing then costs nothing, something, or a great deal."""
    common = {"rent": 150_00, "value_at_horizon": 3_000_00, "months": months, "miles_per_year": Fraction(20_000)}
    said = 0
    for left in chain.from_iterable(combinations(NINE, count) for count in range(10)):
        before = {**EMPTY.told, **common, **own, **dict.fromkeys(left)}
        if answer := answered(before):
            said += 1
            for each in (0, 700_00, 15_000_00):
                check(answer, before, filled_in(before, each))
    assert said >= 4


def filled_in(before: Told, each: int) -> Told:
    """All that was left empty at the same sum, fuel at the same for both."""
    names = (*RUNNING, *OTHER, "value_at_horizon", *(("deposit", "final_payment") if before["payments"] else ()))
    others = {"own_fuel": Fraction(12), "rent_fuel": Fraction(12), "tyre_set_miles": Fraction(20_000)}
    others |= dict.fromkeys(names, each) | {"miles_per_year": Fraction(20_000)}
    return {**before, **{name: value for name, value in others.items() if before[name] is None}}


def test_at_the_room_both_cost_the_same() -> None:
    """All is told but servicing, in equal months: at a third of the room a year both totals are the same."""
    every = dict.fromkeys((*RUNNING, *OTHER), 100_00)
    quotes = {"rent": 150_00, "price": 9_000_00, "months": 36, "value_at_horizon": 2_000_00}
    fuel = {"own_fuel": Fraction(12), "rent_fuel": Fraction(12), "miles_per_year": Fraction(20_000)}
    before = {**EMPTY.told, **every, **quotes, **fuel, "tyre_set_miles": Fraction(20_000), "servicing_per_year": None}
    before["deposit"] = before["final_payment"] = before["fees"] = None
    own, rent = (figures(case_of(before, TODAY, "GB"), offer) for offer in case_of(before, TODAY, "GB").offers)
    room = rent.told - own.told
    assert (answer := answered(before))
    assert f"as long as servicing stays below £{room // 36 // 100} a month" in answer.finding
    found = totals({**before, "servicing_per_year": round(room / 3)})
    assert found
    assert abs(found[0] - found[1]) <= 1


def room_of(answer: Answer, told: Told) -> int:
    """The room in pence that the finding names."""
    if monthly := re.search(r"below £([0-9,]+) a month", answer.finding):
        return pence(monthly[1]) * (told["months"] or told["payments"])
    if all_in_all := re.search(r"to less than £([0-9,]+)", answer.finding):
        return pence(all_in_all[1])
    [left] = re.findall(r"to less than ([0-9]+)p", answer.finding)
    return int(left)


def added_to(before: Told, after: Told, *, is_own: bool) -> int:
    """What all that was left empty of the offer comes to, but for what is left out of both and what the car fetches."""
    blank = {**after, "value_at_horizon": before["value_at_horizon"] or 0}
    told = case_of({**before, "miles_per_year": after["miles_per_year"]}, TODAY, "GB")
    same = set.intersection(*(set(figures(told, offer).not_told) for offer in told.offers))
    # With its refund on leaving, which is a part of its own.
    for_nothing = dict.fromkeys((key for part in same for key in KEYS_OF.get(part, ())), Fraction(0))
    apart = case_of(blank | for_nothing, TODAY, "GB")
    one, other = (figures(case, case.offers[0 if is_own else 1]) for case in (told, apart))
    return other.told - one.told
