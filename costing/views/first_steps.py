"""What a newcomer does first: the rows of the home page that go as they are done."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from django.urls import reverse

from costing.months import Begun
from fleet.core.due import State
from fleet.core.due_kinds import MOT
from fleet.core.registration import show
from fleet.queries import CarDue, DueReport


class FirstStep(NamedTuple):
    """Something to enter first: what, what it is for, and where."""

    words: str
    about: str
    to: str
    icon: str


def first_steps(own: DueReport, begun: Mapping[int, Begun]) -> list[FirstStep]:
    """What is still to be entered before the book can say what a lesson costs and what falls due; by car if several."""
    steps = []
    for due in own.cars:
        for step in _steps_of(due, begun[due.car.pk]):
            named = f"{show(due.registration)}: {step.words}" if len(own.cars) > 1 else step.words
            steps.append(step._replace(words=named))
    return steps


def _steps_of(due: CarDue, begun: Begun) -> Iterator[FirstStep]:
    mark = due.registration
    if not begun.has_reading:
        yield FirstStep(
            "First reading", "What the odometer shows today", reverse("fleet:odometer-add", args=[mark]), "car"
        )
    if not begun.has_fill:
        yield FirstStep(
            "First fill", "At the next filling up: litres, pounds, miles", reverse("costing:fill-log"), "fill"
        )
    if any(line.kind is MOT and line.status.state is State.UNKNOWN for line in due.items):
        to = f"{reverse('fleet:due-item-add', args=[mark])}?kind={MOT.name}"
        yield FirstStep("MOT day", "The last day on the certificate", to, "stone")
    if not begun.has_lessons:
        yield FirstStep("First lessons", "How many, and how many hours", reverse("costing:teaching-log"), "lessons")
    if not begun.is_held:
        to = reverse("costing:agreement-add", args=[mark])
        yield FirstStep(
            "How you hold the car", "Bought, on finance or hired: it is most of what a lesson costs", to, "cost"
        )
