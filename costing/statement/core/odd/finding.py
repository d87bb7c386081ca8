"""What stands out in a book: its kind, what it rests on, its days and figures."""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from costing.core.catalogue.costs import BREAKDOWN_COVER, INSURANCE, VEHICLE_TAX
from costing.core.catalogue.costs import SERVICING as SERVICING_COSTS
from costing.statement.core.odd.economy import Fall


class Kind(StrEnum):
    """What may stand out, gravest first. Its value is its name in the book and in addresses, for ever."""

    #: Days with the car that no cover of a category holds, between two covers or since the last one.
    COVER = "cover"
    #: It goes less far than before.
    ECONOMY = "economy"
    #: More miles between two readings than a car runs.
    JUMP = "jump"
    #: More miles than the fills between them allow, or than the car ever ran without one.
    FILL = "fill"
    #: The odometer moves, and no lessons are logged.
    LESSONS = "lessons"
    #: A cost that came regularly has stopped coming.
    SILENT = "silent"
    #: Many miles without a service.
    SERVICING = SERVICING_COSTS.name


_COVERS = (INSURANCE.name, VEHICLE_TAX.name, BREAKDOWN_COVER.name)


class Finding(NamedTuple):
    """One thing that stands out.

    ``about`` is a category of costs or a unit, where the kind has several. ``rests_on`` is what it would not be
    without: whoever dismisses it dismisses no other. ``first`` and ``last`` are its days; it goes on or is to come if
    it ``is_open``. ``figures`` are whole days, miles or thousandths of a unit, by the names that the words have for
    them. ``entry`` is the key of the fill that it is about, and ``fall`` are the figures of a fallen economy.
    """

    kind: Kind
    about: str
    rests_on: str
    first: date
    last: date
    is_open: bool
    figures: Mapping[str, int]
    entry: int | None = None
    fall: Fall | None = None

    @property
    def key(self) -> str:
        """What tells it from any other of its kind and its car; it stays the same while more is logged after it."""
        return f"{self.about}:{self.rests_on}" if self.about else self.rests_on

    @property
    def grave(self) -> tuple[int, int, int, int]:
        """Sorts the gravest first: what goes on, then by kind, by the law's covers, and the newest."""
        cover = _COVERS.index(self.about) if self.about in _COVERS else 0
        return int(not self.is_open), list(Kind).index(self.kind), cover, -self.last.toordinal()
