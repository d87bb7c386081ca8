"""Of an ordinary year hardly anything is asked; of its slips nearly all are, with what was meant among the taps."""

from collections import Counter
from datetime import date

import pytest

from costing.core.plausible.running import DAY_FIELD, ROOMS, Running
from fleet.core.plausible.doubt import Doubt
from tests.core.costing.plausible.ordinary import TODAY, Typed, Year
from tests.core.costing.plausible.slips_made import Made, same_week, slips

FUELS = ("petrol", "diesel", "electric", "plugin_hybrid")


@pytest.mark.parametrize("fuel", FUELS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_of_an_ordinary_year_at_most_one_in_a_hundred_is_asked_about(fuel: str, seed: int) -> None:
    known, asked, count = Running(fuel, TODAY), list[tuple[Typed, list[Doubt]]](), 0
    for kind, typed in Year(seed, fuel).entries():
        count += 1
        if doubts := known.doubts(kind, typed):
            asked.append((typed, doubts))
        known.add(kind, typed)
    assert count > 200
    assert len(asked) * 100 <= count, asked


def found(kind: str, made: Made, doubts: list[Doubt]) -> bool:
    """Whether what was meant is among the taps."""
    meant = {field: ROOMS[kind].written(field, value) for field, value in made.meant.items()}
    taps = [{one.field: one.value for one in meaning.changes} for doubt in doubts for meaning in doubt.meanings]
    return any(meant.items() <= tap.items() for tap in taps)


@pytest.mark.parametrize("fuel", FUELS)
def test_the_slips_of_whoever_has_a_history_are_asked_with_what_was_meant(fuel: str) -> None:
    known, before = Running(fuel, TODAY), {kind: list[Typed]() for kind in DAY_FIELD}
    right, wrong = 0, Counter[str]()
    for number, (kind, typed) in enumerate(Year(11, fuel).entries()):
        if number > 80 and number % 5 == 0:
            known.today = date.fromisoformat(typed.get("to_on") or typed[DAY_FIELD[kind]])
            tried = list(slips(kind, typed, before[kind]))
            if kind == "lessons" and any(before[kind][-1][f"day_{day}"] for day in range(7)):
                tried.append(same_week(before[kind][-1]))
            for made in tried:
                if found(kind, made, known.doubts(kind, made.typed)):
                    right += 1
                else:
                    wrong[f"{kind}: {made.name}"] += 1
        known.add(kind, typed)
        before[kind].append(typed)
    assert right > 200
    assert right >= 0.95 * (right + wrong.total()), wrong
