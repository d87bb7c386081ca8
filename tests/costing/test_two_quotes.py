"""What “Rent or your own?” says stays true, whatever was left empty: every combination of the nine, at random figures."""

import re
from datetime import date
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from costing.choosing.core.figures import Figures, figures
from costing.choosing.document.checks import Unreadable
from costing.choosing.forms.rent_or_own import RentOrOwnForm
from costing.choosing.pictures.rent_or_own import Answer, answer_of
from costing.choosing.services.two_quotes import Told, asked_next, case_of, is_left_early

TODAY = date(2026, 3, 16)
MONEY = {
    "rent": (0, 400_00),
    "price": (0, 40_000_00),
    "deposit": (0, 6_000_00),
    "payment": (1, 700_00),
    "final_payment": (0, 15_000_00),
    "value_at_horizon": (0, 20_000_00),
}
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
EMPTY = RentOrOwnForm({}, medians={})
assert EMPTY.is_valid()


def maybe(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The values, or nothing typed."""
    return st.one_of(st.none(), values)


def told() -> st.SearchStrategy[Told]:
    """Figures of which any may be left empty."""
    nine = {name: maybe(st.integers(*bounds)) for name, bounds in MONEY.items()}
    nine |= {"payments": maybe(st.integers(1, 60)), "months": maybe(st.integers(1, 60))}
    nine |= {"miles_per_year": maybe(st.integers(1_000, 40_000).map(Fraction))}
    further = {name: maybe(st.integers(0, 1_500_00)) for name in (*RUNNING, *OTHER)}
    further |= {"tyre_set_miles": maybe(st.just(Fraction(20_000)))}
    further |= {name: maybe(st.integers(0, 40).map(Fraction)) for name in ("own_fuel", "rent_fuel")}
    further |= {"includes": st.frozensets(st.sampled_from(("insurance", "mot", "tyres", "repairs", "fit_out", "fuel")))}
    return st.fixed_dictionaries({**nine, **further}).map(lambda typed: {**EMPTY.told, **typed})


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


@given(data=st.data(), before=told())
def test_what_is_said_to_be_cheaper_is_so_whatever_was_left_empty(data: st.DataObject, before: Told) -> None:
    answer = answered(before)
    if answer is None or " as long as " in answer.finding or "cheaper" not in answer.finding:
        return
    after = data.draw(all_told(before))
    if (found := totals(after)) is None:
        return
    own, rent = found
    assert (own <= rent) if answer.finding.startswith("Your own") else (rent <= own), answer.finding
    if by := re.search(r"by at least £([0-9,]+)", answer.finding):
        assert abs(own - rent) >= pence(by[1])
    elif by := re.search(r"by £([0-9,]+)", answer.finding):
        assert abs(abs(own - rent) - pence(by[1])) <= 50


@given(data=st.data(), before=told())
def test_where_the_rest_stays_within_its_room_the_offer_is_the_cheaper(data: st.DataObject, before: Told) -> None:
    answer = answered(before)
    if answer is None or answer.picture is None:
        return
    after = data.draw(all_told(before))
    if (found := totals(after)) is None or is_left_early(before):
        return
    own, rent = found
    room = room_of(answer, before)
    added = added_to(before, after, is_own=answer.finding.startswith("Your own"))
    if added < room:
        assert (own < rent) if answer.finding.startswith("Your own") else (rent < own), answer.finding


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
    full = case_of(blank, TODAY, "GB")
    index = 0 if is_own else 1
    one, other = (figures(case, case.offers[index]) for case in (told, full))
    return other.told - one.told - left_out(told, full, one)


def left_out(told: Any, full: Any, one: Figures) -> int:
    """What the parts come to that neither has told, and that must cost both the same."""
    both = [figures(told, offer) for offer in told.offers]
    same = set(both[0].not_told) & set(both[1].not_told)
    parts = figures(full, next(offer for offer in full.offers if offer.name == one.offer.name)).flow.parts
    return sum(parts.get(part, 0) for part in same if part not in ("value", "damage"))
