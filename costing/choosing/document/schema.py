"""The keys of an offers document as data: what each takes, and the field of a record that it becomes.

A document looks the same whether it comes from a file or from the pages: it has the tables ``use`` and ``running``, and
lists of ``offer``, ``what_if`` and ``uncertain``.
"""

import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal, get_args

from config import budgets, quantities
from config.quantities import Number, Wrong
from config.showing import on_one_line
from costing.choosing.core.case import EarlyExit, WeeksOff
from costing.choosing.core.inputs import INPUTS
from costing.core.catalogue.agreements import AGREEMENT_KINDS, AtEnd
from costing.core.catalogue.running import AS_ASKED, RUNNING_PARTS, RunningPart, When
from costing.core.money import to_pence

#: A document may have more decimals than a page, because its figures may come from another one.
_PLACES = 6


@dataclass(frozen=True)
class Key:
    """One key. ``take`` turns the document's value into the record's, or raises Wrong.

    ``sort`` says what text stands for in JSON, which has no decimals and days. ``default`` is the value if the key is
    left out, or works it out from the keys before it.
    """

    name: str
    take: Callable[[Any], Any]
    sort: Literal["plain", "number", "day"] = "plain"
    required: bool = False
    default: Any = None


def number(quantity: Number) -> Callable[[Any], Fraction]:
    """An exact number."""
    finer = quantity.within(places=_PLACES)
    return lambda value: Fraction(finer.check(value))


def money(quantity: Number = quantities.POUNDS) -> Callable[[Any], int]:
    """Pounds with at most two decimals, turned into whole pence."""
    return lambda value: to_pence(quantity.check(value))


def flag(value: Any) -> bool:
    """Yes or no."""
    if not isinstance(value, bool):
        raise Wrong("must be true or false")
    return value


def words(value: Any) -> str:
    """A name."""
    if not isinstance(value, str) or not value.strip():
        raise Wrong(f"must be words in quotes, not {_shown(value)}")
    if any(unicodedata.category(character) == "Cc" for character in value.strip()):
        raise Wrong("must be on one line, without control characters")
    if len(value) > 80:
        raise Wrong("must not be longer than 80 characters")
    return value.strip()


def one_of(*choices: str) -> Callable[[Any], str]:
    """One of a few words."""
    return quantities.Choice(choices).check


def included(value: Any) -> frozenset[str]:
    """The running costs that an offer includes."""
    if not isinstance(value, list):
        raise Wrong(f'must be a list, such as [] or ["insurance"], not {_shown(value)}')
    for part in value:
        if part not in RUNNING_PARTS or not isinstance(part, str):
            raise Wrong(f"{_shown(part)} is not one of {', '.join(RUNNING_PARTS)}")
    return frozenset(value)


def premiums(value: Any) -> tuple[int, ...]:
    """Pounds by year, turned into pence."""
    if not isinstance(value, list) or not value:
        raise Wrong(f"must be a list of pounds by year, such as [910.00, 790.00], not {_shown(value)}")
    if len(value) > budgets.PREMIUMS:
        raise Wrong(f"has {len(value):,} years, but no comparison is longer than {budgets.PREMIUMS}")
    return tuple(money()(premium) for premium in value)


def early_exit(value: Any) -> EarlyExit:
    """The rule for leaving a hire early."""
    rule = _table(value, "kind", "value", example='{ kind = "weeks", value = 8 }')
    kind = one_of("weeks", "share_of_remaining")(rule["kind"])
    amount = number(quantities.WEEKS)(rule["value"])
    if kind == "share_of_remaining" and amount > 1:
        raise Wrong("must have a share between 0 and 1: write a half as 0.5")
    return EarlyExit("weeks" if kind == "weeks" else "share_of_remaining", amount)


def weeks_off(value: Any) -> WeeksOff:
    """Some weeks without lessons."""
    spell = _table(value, "from_week", "weeks", example="{ from_week = 20, weeks = 6 }")
    return WeeksOff(quantities.SOME_WEEKS.check(spell["from_week"]), quantities.WEEKS.check(spell["weeks"]))


def uncertain_input(value: Any) -> str:
    """The name of an input that can be uncertain."""
    return one_of(*INPUTS)(value)


def _usual_frequency(offer: dict[str, Any]) -> str:
    kind = AGREEMENT_KINDS.get(offer.get("kind") or "")
    return kind.usual_frequency if kind else "month"


def _running_keys(part: RunningPart) -> Iterator[Key]:
    """The keys of one running cost."""
    if part.when is When.PREMIUMS:
        yield Key(part.key, premiums, "number", default=())
    elif part.when is When.BY_MILE:
        yield Key(part.key, number(quantities.PENCE_A_MILE), "number", default=Fraction(0))
    else:
        yield Key(part.key, money(), "number", default=0)
    if part.life_key:
        yield Key(part.life_key, number(quantities.TYRE_MILES), "number", default=Fraction(25_000))


USE = (
    Key("starts_on", quantities.DAY.check, "day", required=True),
    Key("months", quantities.MONTHS.check, required=True),
    Key("miles_per_year", number(quantities.SOME_MILES_A_YEAR), "number", required=True),
    Key("private_miles_per_year", number(quantities.MILES_A_YEAR), "number", required=True),
    Key("lesson_hours_per_week", number(quantities.HOURS_A_WEEK), "number", required=True),
    Key("weeks_taught_per_year", number(quantities.WEEKS_A_YEAR), "number", required=True),
    Key("lesson_hour_price", money(quantities.LESSON_PRICE), "number", required=True),
    Key("discount_rate", number(quantities.SHARE), "number", default=Fraction(0)),
    Key("marginal_tax_rate", number(quantities.SHARE), "number", default=Fraction(0)),
)
RUNNING = tuple(key for part in AS_ASKED for key in _running_keys(part))
OFFER = (
    Key("name", words, required=True),
    Key("kind", one_of(*AGREEMENT_KINDS), required=True),
    Key("first_registered", quantities.DAY.check, "day"),
    Key("price", money(), "number", default=0),
    Key("deposit", money(), "number", default=0),
    Key("payment", money(), "number", default=0),
    Key("payments", quantities.OFFER_PAYMENTS.check, default=0),
    Key("frequency", one_of("month", "week"), default=_usual_frequency),
    Key("final_payment", money(), "number", default=0),
    Key("fees", money(), "number", default=0),
    Key("quoted_apr", number(quantities.APR), "number"),
    Key("value_at_horizon", money(), "number", default=0),
    Key("at_end", one_of(*get_args(AtEnd)), default="sell"),
    Key("mileage_allowance", number(quantities.MILES_A_YEAR), "number"),
    Key("excess_pence_per_mile", number(quantities.EXCESS_PENCE), "number", default=Fraction(0)),
    Key("damage", money(), "number", default=0),
    Key("includes", included, default=frozenset()),
    Key("pauses_when_off", flag, default=False),
    Key("early_exit", early_exit, "number"),
)
WHAT_IF = (
    Key("name", words, required=True),
    Key("weeks_off", weeks_off),
    Key("leave_at_month", quantities.MONTHS.check),
    Key("more_miles", number(quantities.MORE_MILES), "number", default=Fraction(0)),
    Key("one_repair", money(), "number", default=0),
    Key("damage", money(), "number"),
)
UNCERTAIN = (
    Key("input", uncertain_input, required=True),
    Key("low", number(quantities.FIGURE), "number", required=True),
    Key("likely", number(quantities.FIGURE), "number", required=True),
    Key("high", number(quantities.FIGURE), "number", required=True),
    Key("offer", words, default=""),
)
#: The document's tables and its lists of tables.
TABLES: dict[str, tuple[Key, ...]] = {"use": USE, "running": RUNNING}
LISTS: dict[str, tuple[Key, ...]] = {"offer": OFFER, "what_if": WHAT_IF, "uncertain": UNCERTAIN}
#: How many tables each list may hold.
MOST = {"offer": budgets.OFFERS_IN_A_FILE, "what_if": budgets.WHAT_IFS, "uncertain": budgets.RANGES}


def _table(value: Any, *names: str, example: str) -> dict[str, Any]:
    if not isinstance(value, dict) or set(value) != set(names):
        raise Wrong(f"must be written like {example}")
    return value


def _shown(value: Any) -> str:
    shown = on_one_line(str(value), longest=40)
    return f'"{shown}"' if isinstance(value, str) else shown
