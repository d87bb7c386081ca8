"""Of what a fill cost, how much went in, and the price of one litre or kWh, any two give the third."""

from decimal import ROUND_HALF_UP, Decimal

_PENNY, _THOUSANDTH, _TENTH = Decimal("0.01"), Decimal("0.001"), Decimal("0.1")
#: A pump shows two places of what went in, so the amount may rest on half a hundredth more or less.
_NOT_SHOWN = Decimal("0.005")


def amount_of(quantity: Decimal, price: Decimal) -> Decimal:
    """Return the pounds for a quantity at a price in pence, half up to the penny."""
    return (quantity * price / 100).quantize(_PENNY, ROUND_HALF_UP)


def quantity_of(amount: Decimal, price: Decimal) -> Decimal:
    """Return the litres or kWh for pounds at a price in pence, half up to three places. ``price`` is above nought."""
    return (amount * 100 / price).quantize(_THOUSANDTH, ROUND_HALF_UP)


def price_of(amount: Decimal, quantity: Decimal) -> Decimal:
    """Return the pence for one litre or kWh, half up to one place. ``quantity`` is above nought."""
    return (amount * 100 / quantity).quantize(_TENTH, ROUND_HALF_UP)


def agree(amount: Decimal, quantity: Decimal, price: Decimal) -> bool:
    """Say whether all three fit, to a penny and to what a pump does not show of a quantity."""
    return abs(amount - quantity * price / 100) <= _PENNY + _NOT_SHOWN * price / 100
