"""Offers held against each other: one report for the page, the decision sheet and the command."""

from dataclasses import dataclass
from functools import cached_property

from costing.core.offers.compare import Figures, Outcome, compare, what_if
from costing.core.offers.odds import Odds, odds
from costing.core.offers.switching import Switch, switching_values
from costing.core.offers.terms import Case
from costing.offers.reading import Document


@dataclass(frozen=True)
class OffersReport:
    """Everything that is said of one case; each part is worked out when it is first asked for."""

    case: Case
    assumed: tuple[str, ...] = ()

    @classmethod
    def of(cls, document: Document) -> "OffersReport":
        return cls(document.case, document.assumed)

    @cached_property
    def base(self) -> Outcome:
        return compare(self.case)

    @cached_property
    def what_ifs(self) -> list[Outcome]:
        return [what_if(self.case, change) for change in self.case.what_ifs]

    @cached_property
    def switching(self) -> list[Switch]:
        return switching_values(self.case)

    @cached_property
    def odds(self) -> list[Odds]:
        return odds(self.case)

    @property
    def cheapest(self) -> Figures:
        return min(self.base.figures, key=lambda one: one.total)
