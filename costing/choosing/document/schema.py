"""The keys of an offers document: what a page calls each, and how it is read and written.

A document looks the same whether it comes from a file or from the pages: it has the tables ``use`` and ``running``, and
lists of ``offer``, ``what_if`` and ``uncertain``. Each is typed as a mapping of the keys that were told; an offer's own
``running`` is one inside it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, TypedDict, cast

from config import budgets, quantities
from costing.choosing.document.combined import FUEL_FORMS, PENCE_A_MILE, Chances, Spell
from costing.choosing.document.figures import Count, Figure, Money, Share
from costing.choosing.document.keys import PENCE_A_MILE_KEY, RUNNING, Key, Values
from costing.choosing.document.offer_keys import OFFER
from costing.choosing.document.shapes import Day, Name, OneOf, Shape
from costing.core.catalogue.running import INSURANCE


class Tables(TypedDict):
    """A whole document in its typed form, as far as it is told."""

    use: Values
    running: Values
    offer: Sequence[Values]
    what_if: Sequence[Values]
    uncertain: Sequence[Values]


USE = (
    Key(name="starts_on", shape=Day(), words="When would the next car start?", required=True),
    Key(
        name="months",
        shape=Count(quantity=quantities.MONTHS, unit="months"),
        words="Months to compare",
        hint="The same for every offer.",
        required=True,
    ),
    Key(
        name="miles_per_year",
        shape=Figure(quantity=quantities.SOME_MILES_A_YEAR, unit="miles"),
        words="Miles a year in all",
        example="26,000",
        required=True,
    ),
    Key(
        name="private_miles_per_year",
        shape=Figure(quantity=quantities.MILES_A_YEAR, unit="miles"),
        words="Private miles of those",
        hint="Shopping, school runs, holidays: all that isn’t teaching.",
        example="3,000",
        required=True,
    ),
    Key(
        name="lesson_hours_per_week",
        shape=Figure(quantity=quantities.HOURS_A_WEEK, unit="hours"),
        words="Lesson hours in a working week",
        required=True,
    ),
    Key(
        name="weeks_taught_per_year",
        shape=Figure(quantity=quantities.WEEKS_A_YEAR, unit="weeks"),
        words="Weeks you teach in a year",
        hint="52, less your holidays.",
        required=True,
    ),
    Key(
        name="lesson_hour_price",
        shape=Money(quantity=quantities.LESSON_PRICE),
        words="Price of a lesson hour",
        hint="We work out from it how many hours a week go to pay for the car.",
        required=True,
    ),
    Key(
        name="discount_rate",
        shape=Share(),
        words="What your own money could earn in a year",
        hint="A pound paid later then counts for less. Leave it empty to count every pound alike.",
        example="4",
    ),
    Key(
        name="marginal_tax_rate",
        shape=Share(),
        words="Tax on the next pound you earn",
        hint="Income tax and Class 4 National Insurance together. Leave it empty to leave tax out.",
    ),
    Key(
        name="cash_in_hand",
        shape=Money(),
        words="Cash in hand",
        hint="With the next figure it shows how low your purse falls.",
        example="4,000",
    ),
    Key(name="put_by_per_month", shape=Money(), words="What you can put by each month", example="650"),
    Key(name="leaving", shape=Chances(), words="How likely you are to leave early"),
)
WHAT_IF = (
    Key(name="name", shape=Name(), words="What happens?", required=True),
    Key(name="weeks_off", shape=Spell(), words="Weeks without lessons"),
    Key(name="leave_at_month", shape=Count(quantity=quantities.MONTHS, unit="months"), words="Leave after month"),
    Key(
        name="more_miles",
        shape=Share(quantity=quantities.MORE_MILES),
        words="More miles",
        hint="20 is a fifth more; with a minus sign, fewer.",
        example="20",
    ),
    Key(name="one_repair", shape=Money(), words="One big repair"),
    Key(name="damage", shape=Money(), words="Damage when it goes back"),
)

#: What is drawn whole: how long one stays, and the weeks without lessons.
OF_TIME = {
    "months": Figure(quantity=quantities.MONTHS, unit="months"),
    "weeks_off": Figure(quantity=quantities.WEEKS, unit="weeks"),
}
#: The prices of fuel, by the key that tells each.
FUEL_PRICES = {PENCE_A_MILE_KEY: PENCE_A_MILE, **{form.price_key: form.price for form in FUEL_FORMS}}
_FIGURES = [(key.name, key.shape) for key in (*USE, *OFFER, *RUNNING) if isinstance(key.shape, Figure)]
#: The figures that nobody may know for certain, by the name that a range gives them, with the shape of a bound.
UNCERTAIN_INPUTS: dict[str, Figure] = {
    **OF_TIME,
    "miles_per_year": Figure(quantity=quantities.SOME_MILES_A_YEAR, unit="miles"),
    **{name: shape for name, shape in _FIGURES if shape.takes_range},
    INSURANCE.key: Money(),
    **FUEL_PRICES,
}


def _bound_shape(before: Values) -> Shape:
    """The shape of low, likely and high, which depends on the input; any figure if that can't be read."""
    figure = UNCERTAIN_INPUTS.get(before.get("input", ""), Figure(quantity=quantities.FIGURE))
    return replace(figure, takes_range=False)


UNCERTAIN = (
    Key(name="input", shape=OneOf(choices=dict.fromkeys(UNCERTAIN_INPUTS, "")), required=True),
    Key(name="offer", shape=Name()),
    *(
        Key(
            name=name,
            shape=Figure(quantity=quantities.FIGURE),
            words=words,
            required=True,
            shape_among=_bound_shape,
        )
        for name, words in (("low", "At least"), ("likely", "Most likely"), ("high", "At most"))
    ),
)
#: The document's tables and its lists of tables.
TABLES: dict[str, tuple[Key, ...]] = {"use": USE, "running": RUNNING}
LISTS: dict[str, tuple[Key, ...]] = {"offer": OFFER, "what_if": WHAT_IF, "uncertain": UNCERTAIN}
#: How many tables each list may hold.
MOST = {"offer": budgets.OFFERS_IN_A_FILE, "what_if": budgets.WHAT_IFS, "uncertain": budgets.RANGES}


def by_name(tables: Tables) -> Mapping[str, Any]:
    """The tables and lists of a document, to be looked up by a name that isn't known beforehand."""
    return cast(Mapping[str, Any], tables)


def key_named(table: str, name: str) -> Key:
    """A key of one table. Raises KeyError."""
    return next(key for key in {**TABLES, **LISTS}[table] if key.name == name)
