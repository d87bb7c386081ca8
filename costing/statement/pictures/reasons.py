"""Why a lesson hour moved, as reasons: one for each sentence and each bar, the largest first, adding up to the change.

What many categories have in common is told once: over how many hours what runs anyway is shared, and how much of the
miles was for lessons. All else is told by the group that charts draw, with what changed most in it the way that the
whole group went.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from config.showing import pence_as_pounds, percent, within
from costing.core.catalogue.costs import (
    COST_CATEGORIES,
    DEPRECIATION,
    FUEL,
    PARKING_TOLLS,
    REPAIRS,
    TYRES,
    CostGroup,
)
from costing.core.money import divide_half_up, to_places
from costing.statement.core.moved import IN_COMMON, Effect, Factor, Moved

#: So many reasons have a sentence of their own at least and at most; between, from so many pence on.
_FIRST, _MOST, _WORTH_TELLING = 3, 5, 10
#: What follows the largest of many small things.
_MANY = " and other things"
#: The tone of what is of no one group.
_OF_NO_GROUP = "ink"
#: Two periods are as good as equally long if the longer has at most so much more: February and March.
_AS_LONG = Fraction(1, 8)


class Reason(NamedTuple):
    """What moved the lesson hour by ``pence``: its ``name`` within a sentence, and the whole sentence.

    A picture draws it in its ``tone``, with ``words`` beside it.
    """

    pence: int
    name: str
    sentence: str
    tone: str
    words: str


def reasons(moved: Moved) -> list[Reason]:
    """The reasons with a sentence and a bar each, the largest first, and the rest as one; none of nothing."""
    every = sorted((one for one in _every(moved) if one.pence), key=lambda one: -abs(one.pence))
    told = [one for index, one in enumerate(every) if index < _FIRST or _is_told(index, one)]
    rest = every[len(told) :]
    return [*told, *(rest if len(rest) < 2 else [_together(rest)])]


def more_or_less(pence: int) -> str:
    """A change as one says it: 99p less, £1.20 more, no change."""
    amount = abs(pence)
    told = f"{amount}p" if amount < 100 else pence_as_pounds(amount)
    return f"{told} {'less' if pence < 0 else 'more'}" if pence else "no change"


def _is_told(index: int, one: Reason) -> bool:
    return index < _MOST and abs(one.pence) >= _WORTH_TELLING


def _together(rest: Sequence[Reason]) -> Reason:
    """What is left, by the two largest of it, as one list though a name may be of two things itself."""
    pence = sum(one.pence for one in rest)
    first, second = (one.name for one in rest[:2])
    things = [thing for name in (first, second) for thing in name.removesuffix(_MANY).split(" and ")]
    if len(rest) > 2:
        things.append("the rest")
    elif _MANY in first + second:
        things.append(_MANY.removeprefix(" and "))
    names = f"{', '.join(things[:-1])} and {things[-1]}"
    return Reason(pence, names, f"{names[:1].upper()}{names[1:]}: {more_or_less(pence)}.", _OF_NO_GROUP, "The rest")


def _every(moved: Moved) -> Iterator[Reason]:
    for factor, name, short_words, words in _COMMON:
        own = [one for one in moved.effects if one.factor is factor]
        if pence := _sum(own):
            refunds = ", where refunds outweigh costs" if (pence > 0) is not _is_dearer(own[0]) else ""
            sentence = f"{words(moved, own[0])}{refunds}: {more_or_less(pence)}."
            yield Reason(pence, name, sentence, _OF_NO_GROUP, short_words)
    for group in CostGroup:
        own = [one for one in moved.effects if one.group is group and one.factor not in IN_COMMON]
        if pence := _sum(own):
            changed = _changed(own)
            name = _name(own, changed)
            share = (moved.before.share + moved.after.share) / 2
            detail = _detail(_of(changed[0], own) if len(changed) == 1 else own, pence, share)
            sentence = f"{name}: {more_or_less(pence)}{f', {detail}' if detail else ''}."
            # One thing is drawn by the name that its sentence has, several by the short name of their group.
            yield Reason(pence, within(name), sentence, group.value, name if len(changed) == 1 else group.short_words)


def _sum(effects: Iterable[Effect]) -> int:
    return sum(one.pence for one in effects)


def _is_dearer(one: Effect) -> bool:
    """Whether more of a factor was taken than before; more of it costs more, unless refunds outweigh what it costs."""
    return one.after > one.before


def _volume(moved: Moved, one: Effect) -> str:
    """Over how many hours what runs anyway is shared, said so that it is true of unequal periods too."""
    before, after = moved.before, moved.after
    minutes, is_more = after.minutes - before.minutes, not _is_dearer(one)
    shortest, longest = sorted([before.days, after.days])
    count = f"{to_places(Fraction(abs(minutes), 60), 1):,f}".removesuffix(".0")
    if count != "0" and (minutes > 0) is is_more and longest <= shortest * (1 + _AS_LONG):
        noun = "hour" if count == "1" else "hours"
        if is_more:
            return f"{count} more lesson {noun} {'shares' if count == '1' else 'share'} what runs anyway"
        return f"What runs anyway is shared by {count} fewer lesson {noun}"
    rates = [to_places(spell.hours / spell.days, 1) for spell in (after, before)]
    numbers = f", {rates[0]} instead of {rates[1]}" if rates[0] != rates[1] else ""
    return f"{'More' if is_more else 'Fewer'} lesson hours a day share what runs anyway{numbers}"


def _share(moved: Moved, one: Effect) -> str:
    """How many of the miles were for lessons, as precisely as it takes to show that it changed."""
    for places in (0, 1):
        after, before = (_in_100(value * 100, places) for value in (one.after, one.before))
        if after and before and after != before:
            was = before.removesuffix(" the").removesuffix(" of")
            return f"{after[:1].upper()}{after[1:]} miles were for lessons, {was} before"
    return f"A little {'more' if _is_dearer(one) else 'less'} of the miles was for lessons"


def _in_100(share: Fraction, places: int) -> str:
    """So many in 100; empty if that would round a few to none or to all."""
    shown = to_places(share, places)
    if share in (0, 100):
        return "all the" if share else "none of the"
    return "" if shown in (0, 100) else f"{shown} in 100"


#: Each factor that categories have in common, its name, what a picture calls it, and its words.
_COMMON: tuple[tuple[Factor, str, str, Callable[[Moved, Effect], str]], ...] = (
    (Factor.DAYS_AN_HOUR, "the hours taught", "Hours taught", _volume),
    (Factor.SHARE, "private miles", "Private miles", _share),
)


def _name(effects: Sequence[Effect], changed: Sequence[str]) -> str:
    """The group, or what of it has changed where that is clearer; fuel by what was bought."""
    if list(changed) == [FUEL.name]:
        return _UNITS_BOUGHT.get(frozenset(one.factor for one in effects if one.factor in _UNIT_PRICE), FUEL.label)
    if len(changed) == 1:
        return _label(changed[0])
    if effects[0].group is CostGroup.REST:
        return f"{_label(changed[0])}{_MANY}"
    return effects[0].group.spoken


def _changed(effects: Sequence[Effect]) -> list[str]:
    """The categories that have changed, the largest change first."""
    changed = dict.fromkeys(one.category for one in effects if one.pence)
    return sorted(changed, key=lambda name: -abs(_sum(_of(name, effects))))


def _of(category: str, effects: Iterable[Effect]) -> list[Effect]:
    return [one for one in effects if one.category == category]


def _label(category: str) -> str:
    return COST_CATEGORIES[category].label.partition(":")[0]


class _Change(NamedTuple):
    """A factor in a group, with what its categories had of it together; ``none`` if all had nothing at one time."""

    factor: Factor
    before: Fraction
    after: Fraction
    pence: int
    none: str
    is_of_value: bool
    is_of_several: bool


def _detail(effects: Sequence[Effect], pence: int, share: Fraction) -> str:
    """What changed most in a group, if it moved the group the way it went and can be shown.

    ``share`` is the mean business share of the two periods: what is paid by the hour taught is said as what a lesson
    hour bears of it, so that the two figures are as far apart as the sum before them.
    """
    same_way = [
        one for one in _changes(effects, share) if one.pence * pence > 0 and (one.after - one.before) * pence > 0
    ]
    most = max(same_way, key=lambda one: abs(one.pence), default=None)
    # Two figures of a lesson hour that are further apart than the sum before them would contradict it.
    if most is None or (most.factor is Factor.AN_HOUR and abs(most.pence - pence) > 1):
        return ""
    return _said(most)


def _changes(effects: Sequence[Effect], share: Fraction) -> Iterator[_Change]:
    for factor in Factor:
        own = [one for one in effects if one.factor is factor]
        if own:
            before, after = ([one.before for one in own], [one.after for one in own])
            none = "" if any(before) and any(after) else "this time" if any(before) else "before"
            # How many miles a lesson hour took is the same for all of them; prices add up.
            count = len(own) if factor is Factor.MILES_AN_HOUR else 1
            old, new = sum(before, Fraction(0)) / count, sum(after, Fraction(0)) / count
            if factor is Factor.AN_HOUR:
                old, new = old * share, new * share
            is_of_value = all(one.category == DEPRECIATION.name for one in own)
            is_of_several = len(own) > 1 or own[0].category in _PLURAL
            yield _Change(factor, old, new, _sum(own), none, is_of_value, is_of_several)


def _said(one: _Change) -> str:
    if one.factor in _QUANTITY:
        return _quantity(one, _QUANTITY[one.factor])
    if one.factor in _UNIT_PRICE:
        return _unit_price(one, _UNIT_PRICE[one.factor])
    if one.factor is Factor.MILES_AN_HOUR:
        tenths = _tenths(one)
        return (
            f"a lesson hour took {tenths or 'a few'} {_more(one, 'fewer')} business mile{'' if tenths == '1' else 's'}"
        )
    if one.factor is Factor.LOSING:
        return _of_losing(one)
    if min(one.before, one.after) < 0:
        return _of_refunds(one)
    if one.none:
        return f"there {'were' if one.is_of_several else 'was'} none {one.none}"
    before, after = (_pence(value) for value in (one.before, one.after))
    return f"{after} {_PER[one.factor]} instead of {before}" if before != after else ""


def _of_refunds(one: _Change) -> str:
    """When more came back than was paid, or a car rose in value: a price below nought is no price."""
    if max(one.before, one.after) < 0:
        return ""
    when = "this time" if one.after < 0 else "before"
    return f"the car rose in value {when}" if one.is_of_value else f"refunds outweighed costs {when}"


def _of_losing(one: _Change) -> str:
    """When the loss of value ran on fewer days than there were: the first day of an agreement has none."""
    if max(one.before, one.after) < 1:
        return f"it ran on {_more(one, 'fewer')} of the days"
    return f"it did not run on every day {'this time' if one.after < 1 else 'before'}"


_UNIT_PRICE = {Factor.A_LITRE: "a litre", Factor.A_KWH: "a kWh"}
_UNITS_BOUGHT = {frozenset({Factor.A_LITRE}): "Fuel", frozenset({Factor.A_KWH}): "Charge"}
_QUANTITY = {Factor.LITRES_A_MILE: "fuel", Factor.KWH_A_MILE: "charge"}
_PER = {Factor.A_DAY: "a day", Factor.A_MILE: "a mile", Factor.AN_HOUR: "of a lesson hour"}
#: Categories that are called by a plural.
_PLURAL = frozenset({REPAIRS.name, TYRES.name, PARKING_TOLLS.name})


def _more(one: _Change, less: str) -> str:
    return "more" if one.after > one.before else less


def _unit_price(one: _Change, unit: str) -> str:
    tenths = _tenths(one)
    return f"{unit} cost {tenths}p {_more(one, 'less')}" if tenths else ""


def _tenths(one: _Change) -> str:
    """By how much a factor changed, to the tenth; empty if that shows nothing."""
    shown = to_places(abs(one.after - one.before), 1)
    return f"{shown:,f}".removesuffix(".0") if shown else ""


def _quantity(one: _Change, what: str) -> str:
    if one.none:
        return f"there was no {what} {one.none}"
    by = divide_half_up(abs(one.after - one.before) * 100, one.before)
    return f"a mile took {percent(by)} {_more(one, 'less')} {what}" if by else ""


def _pence(value: Fraction) -> str:
    """Pence of a price from nought up: £2.47, 16p, 0.8p where that is what shows."""
    if value >= 100:
        return pence_as_pounds(divide_half_up(value, 1))
    return f"{to_places(value, 1):f}".removesuffix(".0") + "p"
