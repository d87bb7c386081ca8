"""What is shown of economy: a drawing and a table brim by brim, and a drawing and a table of the prices paid."""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from config.charts import brims as brims_chart
from config.charts.price import Paid, PricePaid
from config.showing import day, in_words, whole
from costing.core.economy import Economy
from costing.core.money import to_places
from costing.core.records import Unit
from costing.statement.core.brims import Brims, hundredths
from costing.statement.pictures.odd import economy_words
from costing.statement.services.economy import CarEconomy
from fleet.core.registration import show


class UnitWords(NamedTuple):
    """How one unit is called: what the miles are told by, one and several of it, and how a fill of it is called.

    So are its brims, which nobody speaks of who charges: what opens their table, one and several of them, the day of
    one, and how often a car has to be full before there is any.
    """

    miles: str
    one: str
    several: str
    fills: str
    by_brim: str
    brim: str
    brims: str
    brimmed_on: str
    brimmed_twice: str


_WORDS: dict[Unit, UnitWords] = {
    "litre": UnitWords(
        *("Miles a gallon", "A litre", "litres", "fills"),
        *("Brim by brim", "brim", "brims", "Brimmed on", "brimmed twice, with every fill"),
    ),
    "kwh": UnitWords(
        *("Miles a kWh", "A kWh", "kWh", "charges", "From one full charge to the next", "full charge", "full charges"),
        *("Fully charged on", "fully charged twice, with every charge"),
    ),
}


#: One point alone is no drawing: its sentence says all of it.
_FEWEST_DRAWN = 2


class EconomyShown(NamedTuple):
    """One car on one unit. ``name`` begins the ids of its drawings; ``of`` is its mark where there are several cars.

    ``words`` are those of its unit. A row is a brim: its day, the miles, what went in, what that gave, and the running
    mean. A row of ``prices`` is a fill: its day and what a litre or kWh cost; ``price`` says the last of them. Until a
    car was brimmed twice there are no rows and no ``finding``. With one row alone there is no ``chart``, with one price
    no ``price_chart``. ``odd`` says that economy has fallen below its usual ups and downs; empty if it has not.
    """

    name: str
    head: str
    of: str
    words: UnitWords
    units_head: str
    finding: str
    chart: brims_chart.Brims | None
    rows: list[list[str]]
    price: str
    price_chart: PricePaid | None
    prices: list[list[str]]
    odd: str


def shown(found: Sequence[CarEconomy]) -> list[EconomyShown]:
    """What a page or a sheet of paper shows of each car and unit."""
    has_several = len({one.car.pk for one in found}) > 1
    return [_shown(one, f"economy-{number}", has_several) for number, one in enumerate(found, start=1)]


def _shown(one: CarEconomy, name: str, has_several: bool) -> EconomyShown:
    words = _WORDS[one.unit]
    paid = tuple(Paid(bought.on, bought.tenths) for bought in one.bought)
    price = f"{words.one} cost {paid[-1].told} at {_at(words, len(paid))}"
    return EconomyShown(
        name=name,
        head=words.miles,
        of=show(one.car.registration) if has_several else "",
        words=words,
        # "kWh" begins with a small letter anywhere.
        units_head="kWh" if one.unit == "kwh" else words.several.capitalize(),
        finding=_finding(one.brims, words, has_fallen=one.fall is not None) if one.brims else "",
        chart=_chart(one, one.brims, words) if one.brims and len(one.brims.brims) >= _FEWEST_DRAWN else None,
        rows=_rows(one.brims) if one.brims else [],
        price=price,
        price_chart=PricePaid(price, paid) if len(paid) >= _FEWEST_DRAWN else None,
        prices=[[day(bought.on), bought.told] for bought in reversed(paid)],
        odd=economy_words(one.fall) if one.fall else "",
    )


def _at(words: UnitWords, count: int) -> str:
    return (
        f"the only {words.fills.removesuffix('s')} of these days" if count == 1 else f"the last of these {words.fills}"
    )


def _chart(one: CarEconomy, found: Brims, words: UnitWords) -> brims_chart.Brims:
    brims = tuple(
        brims_chart.Brim(brim.stretch.ends_on, hundredths(brim.own), hundredths(brim.mean)) for brim in found.brims
    )
    finding = _finding(found, words, has_fallen=one.fall is not None)
    return brims_chart.Brims(f"{words.miles}: {finding}", brims, found.usual)


def _finding(found: Brims, words: UnitWords, *, has_fallen: bool) -> str:
    """What the running mean has come to, and whether that is usual.

    Of a fall more is said beside it. The band is that of single fills: a mean within it may still have fallen, so then
    nothing calls it usual.
    """
    mean, count = hundredths(found.brims[-1].mean), found.brims[-1].pooled
    several = f"the last {in_words(count)} {words.fills}" if count > 1 else f"one {words.fills[:-1]}"
    told = f"{to_places(_exact(found.brims[-1].mean), 1)} over {several}"
    if found.usual is None:
        return told
    low, high = found.usual
    if has_fallen and mean >= low:
        return told
    place = "below" if mean < low else "above" if mean > high else "within"
    return f"{told}, {place} the usual band of the {found.before} before"


def _exact(found: Economy) -> Decimal:
    return found.miles_per_gallon or found.miles_per_kwh or Decimal(0)


def _rows(found: Brims) -> list[list[str]]:
    """The brims, newest first."""
    return [
        [
            day(brim.stretch.ends_on),
            whole(brim.stretch.miles),
            *(f"{to_places(value, 2)}" for value in (brim.put_in, _exact(brim.own), _exact(brim.mean))),
        ]
        for brim in reversed(found.brims)
    ]
