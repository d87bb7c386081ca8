"""What is asked about a cost that repeats: whether the same runs already."""

from datetime import date

from costing.core.plausible.repeat import Runs, doubts, limits
from fleet.core.plausible.doubt import Change, Doubt

RUNS = Runs("insurance", 95_40, "month", date(2026, 12, 9))


def asked(*running: Runs, **changes: object) -> list[Doubt]:
    told = {"category": "insurance", "amount": 95_40, "interval": "month", "car": "QA51ABC"}
    return doubts({**told, **changes}, limits(running))  # type: ignore[arg-type]


def test_the_same_is_asked_about_and_can_be_left_out() -> None:
    [found] = asked(RUNS._replace(starts_on=date(2026, 11, 9)), RUNS)
    assert (found.field, found.reason) == ("amount", "same_repeat_month")
    assert found.figures == {"amount": 95_40, "category": "Insurance", "since": "2026-12-09"}
    assert [meaning.changes for meaning in found.meanings] == [(Change("leave_out", "on"),)]
    assert found.key == "same_repeat_month:insurance|95.4|month|QA51ABC"


def test_nothing_is_asked_of_what_differs() -> None:
    assert asked() == []
    for changes in ({"category": "finance"}, {"amount": 95_41}, {"interval": "week"}):
        assert asked(RUNS, **changes) == []
