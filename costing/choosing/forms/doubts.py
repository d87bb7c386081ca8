"""Figures of two quotes that may have a nought too many or too few. They count all the same: the page only asks."""

from collections.abc import Iterator, Mapping
from typing import Any

from config.showing import pence_as_pounds

#: Pence above which a rent a week, or a payment a month, is asked about: our own bounds, which no source has.
_HIGH_RENT, _HIGH_PAYMENT = 600_00, 1_500_00


def doubts_of(told: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Each field to look at again, with the question; ``told`` is in pence, None where nobody has typed."""
    if (rent := told["rent"]) is not None and rent > _HIGH_RENT:
        yield "rent", f"{_shown(rent)} a week? Check that there is no nought too many."
    if (payment := told["payment"]) is not None and payment > _HIGH_PAYMENT:
        yield "payment", f"{_shown(payment)} a month? Check that there is no nought too many."
    if (price := told["price"]) is None:
        return
    if (value := told["value_at_horizon"]) is not None and value > price:
        yield "value_at_horizon", f"{_shown(value)}? That is more than the price."
    paid = _paid(told)
    if paid is not None and 2 * price < paid:
        yield (
            "price",
            f"{_shown(price)}? Deposit, payments and final payment come to {_shown(paid)}, over twice as much.",
        )


def _paid(told: Mapping[str, Any]) -> int | None:
    """What repays the credit, as far as it is told, in pence; None while nobody can tell."""
    if told["payment"] is None or told["payments"] is None:
        return None
    return int(told["payment"] * told["payments"] + (told["deposit"] or 0) + (told["final_payment"] or 0))


def _shown(pence: int) -> str:
    return pence_as_pounds(pence).removesuffix(".00")
