"""Where a due item is listed, and what it is called there."""

from django.shortcuts import resolve_url

from fleet.core import registration as marks
from fleet.core.kinds import KINDS
from fleet.models import DueItem
from instructors.models import Member


def home_of(item: DueItem, member: Member) -> str:
    """Where ``member`` finds an item listed: on its car's page, their own, or among the cars."""
    if item.car:
        return resolve_url("fleet:car", item.car.registration)
    return resolve_url("fleet:profile" if item.member == member else "fleet:car-list")


def home_words(item: DueItem, member: Member) -> str:
    """What that page is called."""
    if item.car:
        return marks.show(item.car.registration)
    return "my page" if item.member == member else "the cars"


def title_of(item: DueItem) -> str:
    """The kind of an item in words; for one of kind ``other`` what was written, if anything."""
    return item.note if item.note and item.kind == "other" else KINDS[item.kind].words
