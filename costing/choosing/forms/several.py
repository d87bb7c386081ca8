"""Keys of an offers document that take several fields, and the values that a form's fields make together.

Premiums are asked year by year, fuel as economy and price, a rule for leaving as its kind and its figure, and any sum
may be asked together with its range. ``fields_of`` gives the fields of a key, ``initial_of`` what they show, and
``told_in`` the typed values of a form.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from config import quantities
from config.quantities import Wrong
from config.showing import percent
from costing.choosing.core.case import Chance, EarlyExit, Fuel, Spread, WeeksOff
from costing.choosing.document.combined import EXITS, FUEL_FORMS, SHARE_OF_ALL, ByYear, Chances, ExitRule, Fuels, Spell
from costing.choosing.document.figures import Count, Figure, in_order, likely
from costing.choosing.document.keys import Key, Table
from costing.choosing.forms.fields import FigureField, WordField, field_of

#: Premiums are asked for so many years; the last one goes on.
YEARS = ("in the first year", "in the second year", "in the third year and after")
#: So many months in which one may leave are asked.
LEAVINGS = 6
FUEL_SHARE = "fuel_share"
_MONTH = Count(quantity=quantities.MONTHS, unit="months")


def fields_of(key: Key, *, kind: str = "", with_range: bool = False, **options: Any) -> dict[str, forms.Field]:
    """The fields that ask for a key, by name; ``with_range`` adds ``NAME_low`` and ``NAME_high`` to a sum's field."""
    optional: dict[str, Any] = {"required": False}
    match key.shape:
        case ByYear(each=each):
            labels = dict(zip(_years_of(key), YEARS, strict=True))
            named: dict[str, forms.Field] = {
                name: FigureField(each, label=f"{key.words} {year}", example=key.example, **optional)
                for name, year in labels.items()
            }
            figures = dict.fromkeys(named, each) if with_range else {}
            return _with_ranges(named, figures)
        case Fuels():
            named = {
                name: FigureField(figure, label=label, **optional)
                for form in FUEL_FORMS
                for name, figure, label in (
                    (form.economy_key, form.economy, "Miles on a gallon" if form.unit == "litre" else "Miles on a kWh"),
                    (form.price_key, form.price, "Price of a litre" if form.unit == "litre" else "Price of a kWh"),
                )
            }
            named[FUEL_SHARE] = FigureField(SHARE_OF_ALL, label="Of all miles, driven on electricity", **optional)
            return _with_ranges(named, {form.price_key: form.price for form in FUEL_FORMS} if with_range else {})
        case ExitRule(weeks=weeks):
            words = "How many weeks, or what per cent"
            return {
                f"{key.name}_kind": WordField(EXITS, left_open="I don’t know", label=key.words),
                f"{key.name}_value": FigureField(weeks, label=words, example="8", **optional),
            }
        case Spell(from_week=from_week, weeks=weeks):
            return {
                f"{key.name}_weeks": FigureField(weeks, label=key.words, example="6", **optional),
                f"{key.name}_from_week": FigureField(from_week, label="Starting in week", **optional),
            }
        case Chances():
            return {
                name: FigureField(figure, label=label, **optional)
                for row in range(1, LEAVINGS + 1)
                for name, figure, label in (
                    (f"{key.name}_month_{row}", _MONTH, "Leaving after"),
                    (f"{key.name}_chance_{row}", SHARE_OF_ALL, "How likely"),
                )
            }
        case Table():
            return {}  # its own keys are asked one by one
    named = {key.name: field_of(key, kind=kind, **options)}
    is_ranged = with_range and isinstance(key.shape, Figure) and key.shape.takes_range
    return _with_ranges(named, {key.name: key.shape} if is_ranged else {})


def _with_ranges(named: dict[str, forms.Field], figures: Mapping[str, Any]) -> dict[str, forms.Field]:
    """The fields, each of ``figures`` followed by those for the least and the most that it may come to."""
    every: dict[str, forms.Field] = {}
    for name, field in named.items():
        every[name] = field
        if name in figures:
            for end, label in (("low", "at least"), ("high", "at most")):
                every[f"{name}_{end}"] = FigureField(figures[name], label=f"{field.label}, {label}", required=False)
    return every


def initial_of(key: Key, value: Any) -> dict[str, Any]:
    """What the fields of a key show for its typed value, by name."""
    match key.shape:
        case ByYear():
            return _spread_out(dict(zip(_years_of(key), value, strict=False)))
        case Fuels():
            return _spread_out(_shown_fuels(value))
        case ExitRule():
            is_share = value.kind == "share_of_remaining"
            return {f"{key.name}_kind": value.kind, f"{key.name}_value": value.value * (100 if is_share else 1)}
        case Spell():
            return {f"{key.name}_weeks": value.weeks, f"{key.name}_from_week": value.from_week}
        case Chances():
            rows = list(enumerate(value[:LEAVINGS], 1))
            return {f"{key.name}_month_{row}": one.month for row, one in rows} | {
                f"{key.name}_chance_{row}": one.chance for row, one in rows
            }
    return _spread_out({key.name: value})


def shown(keys: Iterable[Key], values: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields of these keys show for the values that are told, by name."""
    return {
        name: value for key in keys if key.name in values for name, value in initial_of(key, values[key.name]).items()
    }


def _shown_fuels(fuels: tuple[Fuel, ...]) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for form in FUEL_FORMS:
        if fuel := next((fuel for fuel in fuels if fuel.unit == form.unit), None):
            shown |= {form.economy_key: fuel.economy, form.price_key: fuel.price}
            if form.unit == "kwh" and len(fuels) > 1:
                shown[FUEL_SHARE] = fuel.share
    return shown


def _spread_out(values: Mapping[str, Any]) -> dict[str, Any]:
    """Each value, of a range the likely one, with its ends beside it."""
    every = {name: likely(value) for name, value in values.items()}
    for name, value in values.items():
        if isinstance(value, Spread):
            every |= {f"{name}_low": value.low, f"{name}_high": value.high}
    return every


def told_in(form: forms.Form, keys: Iterable[Key], before: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The typed values of the ``keys`` that a form asks and somebody has told. What is wrong is put on the form.

    A value that was told ``before`` and is shown unchanged stays as it was, with what the fields can't show of it.
    """
    told: dict[str, Any] = {}
    for key in keys:
        names = [name for name in fields_of(key, with_range=True) if name in form.fields]
        if not names or any(name in form.errors for name in names):
            continue
        data = {name: form.cleaned_data.get(name) for name in names}
        if before and key.name in before:
            shown = initial_of(key, before[key.name])
            if all(data[name] == shown.get(name) for name in names):
                told[key.name] = before[key.name]
                continue
        try:
            value = _value_of(key, data)
        except ValidationError as wrong:
            form.add_error(None, wrong)
            continue
        if value not in (None, (), ""):
            told[key.name] = value
    return told


def put_faults(form: forms.Form, faults: Mapping[str, str]) -> None:
    """Show what the document's rules say of each key beside its first field, or above the form if it isn't asked."""
    for name, words in faults.items():
        asked = [field for field in form.fields if field == name or field.startswith(f"{name}_")]
        if not asked:
            form.add_error(None, f"{name}: this {words}.")
        elif not any(field in form.errors for field in asked):
            form.add_error(asked[0], f"This {words}.")


def _years_of(key: Key) -> list[str]:
    return [f"{key.name}_{year}" for year in range(1, len(YEARS) + 1)]


def _value_of(key: Key, data: Mapping[str, Any]) -> Any:
    """The value that the fields of a key make together; None if it isn't told. Raises ValidationError by field."""
    match key.shape:
        case ByYear():
            return _premiums(_years_of(key), data)
        case Fuels():
            return tuple(_fuels(data))
        case ExitRule():
            return _exit(f"{key.name}_kind", f"{key.name}_value", data)
        case Spell():
            weeks = data[f"{key.name}_weeks"]
            return WeeksOff(data[f"{key.name}_from_week"] or 1, weeks) if weeks else None
        case Chances():
            return _chances(key.name, tuple(_leavings(key.name, data)))
    return _ranged(key.name, data)


def _ranged(name: str, data: Mapping[str, Any]) -> Any:
    """A sum, or its range if both of its ends are told."""
    value: Any = data[name]
    ends: list[Any] = [data.get(f"{name}_low"), data.get(f"{name}_high")]
    if ends == [None, None]:
        return value
    for end, field in zip((value, *ends), (name, f"{name}_low", f"{name}_high"), strict=True):
        if end is None:
            raise ValidationError({field: "A range needs all three figures: the least, the likely one and the most."})
    try:
        return in_order(Spread(ends[0], value, ends[1]))
    except Wrong as wrong:
        raise ValidationError({name: f"This {wrong}."}) from None


def _premiums(names: list[str], data: Mapping[str, Any]) -> tuple[Any, ...]:
    values = [_ranged(name, data) for name in names]
    while values and values[-1] is None:
        values.pop()
    if None in values:
        first = names[values.index(None)]
        raise ValidationError({first: "Fill in this year too. Write 0 if there is nothing to pay."})
    return tuple(values)


def _fuels(data: Mapping[str, Any]) -> Iterator[Fuel]:
    told = []
    for form in FUEL_FORMS:
        economy: Any = data.get(form.economy_key)
        price: Any = _ranged(form.price_key, data) if form.price_key in data else None
        if (economy is None) is not (price is None):
            field = form.economy_key if economy is None else form.price_key
            raise ValidationError({field: "Fill in both, what the car makes of it and what it costs."})
        if economy is not None:
            told.append(Fuel(price, form.unit, economy))
    share = data.get(FUEL_SHARE)
    if len(told) < 2:
        yield from told
    elif share is None:
        raise ValidationError({FUEL_SHARE: "Fill in what share of its miles the car drives on electricity."})
    else:
        yield told[0]._replace(share=1 - share)
        yield told[1]._replace(share=share)


def _exit(kind: str, value: str, data: Mapping[str, Any]) -> EarlyExit | None:
    if data[kind] is None:
        return None
    if data[value] is None:
        raise ValidationError({value: "Fill in how many."})
    if data[kind] == "weeks":
        return EarlyExit("weeks", data[value])
    if data[value] > 100:
        raise ValidationError({value: "A share must be between 0 and 100%."})
    return EarlyExit("share_of_remaining", data[value] / 100)


def _chances(name: str, chances: tuple[Chance, ...]) -> tuple[Chance, ...]:
    try:
        return Chances.together(chances)
    except Wrong as wrong:
        total = SHARE_OF_ALL.show(Chances.total_of(chances))
        too_many = f"The chances add up to {percent(total)}: 100% is the most."
        raise ValidationError({f"{name}_month_1": too_many if wrong.code == "most" else f"This {wrong}."}) from None


def _leavings(name: str, data: Mapping[str, Any]) -> Iterator[Chance]:
    for row in range(1, LEAVINGS + 1):
        month: Any = data.get(f"{name}_month_{row}")
        chance: Any = data.get(f"{name}_chance_{row}")
        if (month is None) is not (chance is None):
            field = f"{name}_month_{row}" if month is None else f"{name}_chance_{row}"
            raise ValidationError({field: "Fill in both, the month and how likely it is."})
        if month is not None:
            yield Chance(month, chance)
