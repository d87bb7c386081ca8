"""What a search of a member's own entries asks for, as the rows of each table that it finds."""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from django.db.models import Q

from costing.core.catalogue.costs import COST_CATEGORIES, FUEL
from costing.models import CostEntry, Entry, Fill, TeachingRecord
from costing.models.entries import EntryQuerySet
from costing.queries.entries import ENTRY_DAYS, ENTRY_MODELS
from fleet.core.registration import normalise
from fleet.models import Car
from instructors.models import Member

#: What is said of a kind on its pages, so that it is found by these words.
_KIND_WORDS: dict[type[Entry], str] = {Fill: f"Fill {FUEL.words}", CostEntry: "Cost", TeachingRecord: "Lessons"}


class Sums(NamedTuple):
    """Sums in pounds from ``least`` to ``most``; None is no bound.

    A refund is found by its size as a payment is, unless what is asked for is below nought.
    """

    least: Decimal | None
    most: Decimal | None

    def of(self, column: str) -> Q:
        """The rows with such a sum in a column."""
        if any(bound is not None and bound < 0 for bound in self):
            return self._between(column, self.least, self.most)
        least, refunded_most = self.least or Decimal(0), None if self.most is None else -self.most
        return self._between(column, least, self.most) | self._between(column, refunded_most, -least)

    @staticmethod
    def _between(column: str, least: Decimal | None, most: Decimal | None) -> Q:
        bounds = {f"{column}__gte": least, f"{column}__lte": most}
        return Q(**{name: bound for name, bound in bounds.items() if bound is not None})


@dataclass(frozen=True, kw_only=True)
class Search:
    """What is asked for. Of each of ``words`` an entry holds a part: in its supplier, note, category, kind or mark.

    ``first`` and ``last`` bound the day by which an entry is sorted. ``batch`` is what entries were saved with.
    """

    words: tuple[str, ...] = ()
    category: str = ""
    sums: Sums | None = None
    first: date | None = None
    last: date | None = None
    car: Car | None = None
    kind: str = ""
    batch: UUID | None = None
    voided_too: bool = False

    @property
    def kinds(self) -> list[str]:
        """The kinds of entry that it may find: lessons have no sum, and a fill has one category."""
        kinds = [self.kind] if self.kind else list(ENTRY_MODELS)
        if self.category:
            of_category = "fill" if self.category == FUEL.name else "cost"
            kinds = [kind for kind in kinds if kind == of_category]
        return [kind for kind in kinds if self.sums is None or kind != "lessons"]

    def rows(self, member: Member, kind: str) -> EntryQuerySet:
        """The member's own entries of one of its ``kinds`` that it finds; no order."""
        model = ENTRY_MODELS[kind]
        asked = {
            f"{ENTRY_DAYS[model]}__gte": self.first,
            f"{ENTRY_DAYS[model]}__lte": self.last,
            "category": self.category if model is CostEntry else "",
            "car": self.car,
            "batch": self.batch,
        }
        rows = model.objects.filter(member=member, **{name: value for name, value in asked.items() if value})
        if self.sums is not None:
            rows = rows.filter(self.sums.of("amount"))
        for word in self.words:
            rows = rows.filter(_holds(model, word))
        return (rows if self.voided_too else rows.standing()).order_by()


def _holds(model: type[Entry], word: str) -> Q:
    """The rows that hold a part of a word, whatever its case.

    Capitals beyond A to Z are small letters' own in a regular expression on either database; SQLite's LIKE knows none.
    """
    if word.casefold() in _KIND_WORDS[model].casefold():
        return Q()
    mark = normalise(word)
    found = Q(car__registration__contains=mark) if mark else Q(pk__in=())
    if model is CostEntry:
        literally = re.escape(word)
        named = [name for name, row in COST_CATEGORIES.items() if word.casefold() in row.words.casefold()]
        found |= Q(supplier__iregex=literally) | Q(note__iregex=literally) | Q(category__in=named)
    return found
