"""The keys of ``[running]``, and of an offer's own running costs: from the catalogue, in its order."""

from collections.abc import Iterator

from config import quantities
from costing.choosing.document.combined import PENCE_A_MILE, SHARE_OF_ALL, ByYear, Fuels
from costing.choosing.document.figures import Figure, Money
from costing.choosing.document.keys import Key
from costing.core.catalogue.running import AS_ASKED, FUEL, INSURANCE, RunningPart, When

#: The two keys that say what fuel costs, of which one is told.
PENCE_A_MILE_KEY, FUEL_KEY = FUEL.key, "fuel"
FUEL_KEYS = (PENCE_A_MILE_KEY, FUEL_KEY)


def _running_keys(part: RunningPart) -> Iterator[Key]:
    """The keys of one running cost, with what belongs to it."""
    words: dict[str, str] = {"words": part.question, "hint": part.hint, "example": part.example}
    if part.when is When.BY_MILE:
        yield Key(name=part.key, shape=PENCE_A_MILE, **words)
        yield Key(name=FUEL_KEY, shape=Fuels(), words=part.words)
    else:
        yield Key(name=part.key, shape=ByYear() if part.when is When.PREMIUMS else Money(), **words)
    if part is INSURANCE:
        hint = "Of the whole months left of a year’s premium, if you leave inside the year."
        yield Key(name="insurance_given_back", shape=SHARE_OF_ALL, words="What the insurer pays back", hint=hint)
    if part.life_key:
        miles = Figure(quantity=quantities.TYRE_MILES, unit="miles")
        yield Key(name=part.life_key, shape=miles, words="Miles a set lasts", example="25,000")


RUNNING = tuple(key for part in AS_ASKED for key in _running_keys(part))
