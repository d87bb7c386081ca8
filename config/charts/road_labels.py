"""Names and days below the road: none on another, in as few rows as there can be, the lower ones on a hairline."""

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from config.charts.marks import Box, Point, Words
from config.charts.text import fitted, width_of

_ROWS, _ROW, _LINE = 4, 34.0, 15.0
_APART = 7.0
#: How many places it tries before it leaves a name out: the list beside the road has every one.
_MOST_TRIES = 4000
#: More than have room in any picture, so that a road with hundreds of things costs no more than a full one.
_MOST_LABELS = 40


class Label(NamedTuple):
    """The name and the day of one item, and the hairline from the road down to it; empty in the first row."""

    lines: tuple[Words, Words]
    hairline: tuple[Point, ...]
    box: Box
    stem: Box | None


#: A road is the same until the day is over, and looking for room takes longer than all else of drawing it.
_KEPT = 256


@lru_cache(maxsize=_KEPT)
def labels_below(items: tuple[tuple[float, str, str], ...], width: float, road: float) -> Sequence[Label]:
    """Labels for (place, name, day) from left to right, within a picture of that width.

    If there is no room for all of them, those furthest ahead go without.
    """
    most: list[Label] = []
    for rows in range(1, _ROWS + 1):
        choices = [list(_choices(item, width, road, rows)) for item in items[:_MOST_LABELS]]
        found = _most_placed(choices)
        if len(found) > len(most):
            most = found
        if len(most) == len(items):
            break
    return most


def _most_placed(choices: Sequence[Sequence[Label]]) -> list[Label]:
    """One of its choices for each item, beside those placed before it: for all, or for the most found by so many tries.

    It goes back to the item before whenever none of an item's choices is free.
    """
    most: list[Label] = []
    so_far: list[Label] = []
    untried = [iter(choices[0])] if choices else []
    for _ in range(_MOST_TRIES):
        label = next(untried[-1], None) if untried else None
        while label is None and so_far:
            untried.pop()
            so_far.pop()
            label = next(untried[-1], None)
        if label is None:
            break
        if any(not _are_clear(label, other) for other in so_far):
            continue
        so_far.append(label)
        if len(so_far) > len(most):
            most = list(so_far)
        if len(so_far) == len(choices):
            break
        untried.append(iter(choices[len(so_far)]))
    return most


def _choices(item: tuple[float, str, str], width: float, road: float, rows: int) -> Iterator[Label]:
    """Where one label may be, the best first: high before low, below its shape before at its side."""
    x, name, day = item
    name = fitted(name, width, is_bold=True)
    long = max(width_of(name, is_bold=True), width_of(day))
    for row in range(rows):
        for left in (x - long / 2, x - long + 8, x - 8, x - long + 18, x - 18, x - long + 3, x - 3):
            at = max(0.0, min(left, width - long))
            yield _label(x, at, long, name, day, road, row)


def _label(x: float, left: float, long: float, name: str, day: str, road: float, row: int) -> Label:
    top = road + 4 + row * _ROW
    # Words stand below their shape; at its side they line up with the edge that is nearer to it.
    middle, off = left + long / 2, 3
    anchor = "middle" if abs(middle - x) < off else "end" if middle < x else "start"
    at = {"middle": middle, "end": left + long, "start": left}[anchor]
    lines = (
        Words(at, top + 13, name, anchor=anchor, is_bold=True),
        Words(at, top + 13 + _LINE, day, "quiet", anchor),
    )
    box = Box(left, top, long, _ROW - 2)
    if row == 0:
        return Label(lines, (), box, None)
    foot = top + 1
    return Label(lines, ((x, road), (x, foot)), box, Box(x - 1, road, 2, foot - road))


def _are_clear(one: Label, other: Label) -> bool:
    """Whether neither label lies on the other, or on the hairline of the other."""
    if one.box.meets(Box(other.box.x - _APART, other.box.y, other.box.width + 2 * _APART, other.box.height)):
        return False
    return not any(
        stem is not None and stem.meets(Box(box.x - 3, box.y, box.width + 6, box.height))
        for stem, box in ((one.stem, other.box), (other.stem, one.box))
    )
