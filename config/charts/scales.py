"""Axes and places: round steps of money, sums in few letters, and labels that make room for each other."""

from collections.abc import Sequence
from itertools import count

#: Hairlines above (and below) nought, and no more.
MOST_LEVELS = 3


def levels(low: float, high: float, *, smallest: int = 1) -> list[int]:
    """At most three round numbers between two others, without nought: multiples of 1, 2 or 5 of a power of ten."""
    for power in count():
        for unit in (1, 2, 5):
            step = smallest * unit * 10**power
            first, last = -int(-low // step), int(high // step)
            if last - first - (first <= 0 <= last) < MOST_LEVELS:
                return [step * at for at in range(first, last + 1) if at]
    raise AssertionError  # count() never ends


def axis_money(pence: int) -> str:
    """A round sum beside an axis: 50p, £2, £1.50, £10k."""
    sign, amount = "−" if pence < 0 else "", abs(pence)
    if amount < 100:
        return f"{sign}{amount}p"
    if amount >= 1_000_00 and amount % 100_00 == 0:
        return f"{sign}£{_tenths(amount, 1_000_00)}k"
    return f"{sign}£{amount // 100:,}" if amount % 100 == 0 else f"{sign}£{amount / 100:,.2f}"


def short_money(pence: float) -> str:
    """A sum in few letters: £950, £9.5k, £33.5k. The table beside the picture has it to the penny."""
    sign, amount = "−" if pence < 0 else "", abs(pence)
    if amount < 999_50:
        return f"{sign}£{int(amount / 100 + 0.5)}"
    return f"{sign}£{_tenths(amount, 1_000_00)}k"


def change_money(pence: float) -> str:
    """How much more or less: +10p, −£1.20."""
    amount = int(abs(pence) + 0.5)
    return f"{'−' if pence < 0 else '+'}{f'{amount}p' if amount < 100 else f'£{amount / 100:,.2f}'}"


def _tenths(amount: float, unit: int) -> str:
    shown = int(amount * 10 / unit + 0.5)
    return f"{shown // 10:,}" if shown % 10 == 0 else f"{shown // 10:,}.{shown % 10}"


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places in the same order, ``apart`` from each other and within limits, as near as can be to those wanted.

    ``wanted`` rises. The squares of the distances are the least possible (isotonic regression by pooling).
    """
    pools: list[tuple[float, int]] = []
    for index, place in enumerate(wanted):
        mean, size = place - index * apart, 1
        while pools and pools[-1][0] >= mean:
            before, many = pools.pop()
            mean, size = (before * many + mean * size) / (many + size), many + size
        pools.append((mean, size))
    last = high - (len(wanted) - 1) * apart
    kept = [min(max(mean, low), last) for mean, size in pools for _ in range(size)]
    return [place + index * apart for index, place in enumerate(kept)]


def shares_of_100(amounts: Sequence[int]) -> list[int]:
    """Whole shares that add up to 100: each rounded down, and what is left to those that lost the most by it."""
    whole = sum(amounts)
    if whole <= 0:
        return [0] * len(amounts)
    down = [100 * amount // whole for amount in amounts]
    by_loss = sorted(range(len(amounts)), key=lambda index: -(100 * amounts[index] % whole))
    for index in by_loss[: 100 - sum(down)]:
        down[index] += 1
    return down
