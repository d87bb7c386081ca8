"""Fourteen months in the life of a co-op, by chance: what its members do about what falls due."""

import random
from dataclasses import dataclass
from datetime import date, timedelta

from fleet.actions import book_due_item, change_due_item, complete_due_item
from fleet.models import Car, DueItem
from instructors.models import Member

FIRST, LAST = date(2026, 2, 1), date(2027, 4, 1)
#: Their last days.
CAR_LEAVES, MEMBER_LEAVES = date(2026, 9, 1), date(2026, 11, 10)
#: Kinds told daily once they are overdue.
DAILY = {"mot", "vehicle_tax", "insurance"}


@dataclass
class Planned:
    """A due item as the story has it, of which car or member and kind, and who keeps it."""

    pk: int
    of: tuple[int | None, int | None, str]
    kind: str
    keeper: Member
    due_on: date
    booked_for: date | None = None
    ends_on: date = LAST


class Story:
    """What the members do about their items, by chance; what the book was told of it is noted in ``items``."""

    def __init__(self, items: list[Planned], chance: random.Random) -> None:
        self.items, self.chance = items, chance
        for item in items:
            item.due_on = FIRST + timedelta(days=chance.randint(15, 120))
            DueItem.objects.filter(pk=item.pk).update(due_on=item.due_on)

    def live(self, day: date) -> None:
        """Let one day's small hours pass."""
        if day == CAR_LEAVES + timedelta(days=1):
            Car.objects.filter(registration="QB52SLD").update(in_service_to=CAR_LEAVES)
        if day == MEMBER_LEAVES + timedelta(days=1):
            Member.objects.filter(name="Leaver").update(left_on=MEMBER_LEAVES)
        for item in [item for item in self.items if day <= item.ends_on and (item.due_on - day).days <= 20]:
            does = self.chance.random()
            is_pressing = item.kind in DAILY and item.due_on < day
            if does < (0.4 if is_pressing else 0.04):
                self._meet(item, day)
            elif does < 0.06:
                item.booked_for = day + timedelta(days=self.chance.randint(0, 12))
                book_due_item(by=item.keeper, item=self._row(item), booked_for=item.booked_for)
            elif does < 0.07:
                item.due_on += timedelta(days=self.chance.choice([-3, 2, 9]))
                change_due_item(by=item.keeper, item=self._row(item), due_on=item.due_on)

    def _meet(self, item: Planned, day: date) -> None:
        if item.kind == "other":  # it does not come back
            complete_due_item(by=item.keeper, item=self._row(item), done_on=day)
            self.items.remove(item)
            return
        item.due_on, item.booked_for = day + timedelta(days=self.chance.randint(40, 150)), None
        complete_due_item(by=item.keeper, item=self._row(item), done_on=day, next_due_on=item.due_on)

    @staticmethod
    def _row(item: Planned) -> DueItem:
        return DueItem.objects.select_related("car", "member").get(pk=item.pk)
