"""A row of the table: one address, who is let in, and what each way of asking gives."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from operator import attrgetter
from types import SimpleNamespace
from typing import Any

from django.urls import URLPattern, URLResolver, reverse

from tests.conftest import TODAY
from tests.matrix.asking import SIGN_IN
from tests.matrix.roles import (
    ANONYMOUS,
    COORDINATOR,
    COORDINATORS,
    EVERYBODY,
    FORMER_MEMBER,
    MEMBERS,
    WITH_APP,
    WITH_PASSKEY,
)

#: Asking in any other way than a row says gives 405.
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE")

#: What a form is filled in with that asks for a day to come, or for today's.
AHEAD, TODAYS = str(TODAY + timedelta(days=90)), str(TODAY)

Its = SimpleNamespace
Who = Callable[[Its], Iterable[str]]


def anybody(its: Its) -> Iterable[str]:
    """Whoever asks, signed in or not."""
    return EVERYBODY


def members(its: Its) -> Iterable[str]:
    """Whoever is a member, each for themselves."""
    return MEMBERS


def coordinators(its: Its) -> Iterable[str]:
    return COORDINATORS


def owner(its: Its) -> Iterable[str]:
    """Whoever it was made by, and nobody else whatever their role: money, and what was meant for oneself."""
    return {its.role}


def keeper(its: Its) -> Iterable[str]:
    """Whoever keeps the car today."""
    return {its.keeper}


def lookers(its: Its) -> Iterable[str]:
    """Whoever keeps the car today, and the coordinators: what falls due and the car's condition."""
    return {its.keeper} | COORDINATORS


def recorder(its: Its) -> Iterable[str]:
    """Whoever recorded it as long as they keep the car, and the coordinators."""
    return ({its.role} & {its.keeper}) | COORDINATORS


def has_money(its: Its) -> Iterable[str]:
    """Whoever keeps the car or kept it once, each for their own records of it."""
    return its.has_money


def holder(its: Its) -> Iterable[str]:
    """Whose credential it is, and the coordinators."""
    return {its.role} | COORDINATORS


def with_app(its: Its) -> Iterable[str]:
    """Whoever has an authenticator app."""
    return WITH_APP


def with_passkey(its: Its) -> Iterable[str]:
    """Whoever has a passkey, and recovery codes with it."""
    return WITH_PASSKEY


def id_of(name: str) -> Callable[[Its], Sequence[Any]]:
    """The id of one of somebody's things."""
    return lambda its: (attrgetter(name)(its).pk,)


def MARK(its: Its) -> Sequence[Any]:
    """The mark of somebody's car."""
    return (its.car.registration,)


def of_car(name: str) -> Callable[[Its], Sequence[Any]]:
    """Mark of somebody's car, and the id of one of its things."""
    return lambda its: (its.car.registration, getattr(its, name).pk)


@dataclass(frozen=True)
class Row:
    """One address.

    ``args`` fills its blanks with somebody's things; without, there is nothing to fill. ``get`` and ``post`` are what
    those in ``who`` are answered; a POST is sent empty. ``done`` is the answer to the page's own form, filled in with
    ``typed``. Whoever is not in ``who`` gets 404 or, signed out, the sign-in page.
    """

    name: str
    who: Who
    args: Callable[[Its], Sequence[Any]] | None = None
    get: int | str = 200
    post: int | str = 405
    done: int | None = None
    typed: Mapping[str, Any] | Callable[[Its], Mapping[str, Any]] = field(default_factory=dict)
    #: The query string at which the page has its form.
    form_at: str = ""
    #: What other methods give those who are let in.
    other: Mapping[str, int | str] = field(default_factory=dict)
    #: What all who are signed in, or all who are not, are answered instead; ``*`` by any method.
    signed_in: Mapping[str, int | str] = field(default_factory=dict)
    signed_out: Mapping[str, int | str] = field(default_factory=dict)
    #: The same of single roles.
    by_role: Mapping[str, Mapping[str, int | str]] = field(default_factory=dict)
    #: Which kind of thing is meant, where an address is for several.
    of: str = ""
    #: What is not there is answered alike, whoever asks.
    is_blind: bool = False
    #: Whoever is not let in gets 404 even for a method that nobody may use.
    asks_who_first: bool = False
    #: Filters that the page has, with ``{its...}`` where somebody's things are asked for.
    queries: Sequence[str] = ()
    #: Canaries that whoever is let in may see here, by a part of their names.
    tells: Sequence[str] = ()
    #: What of the keeper's own somebody else who is let in may end here, by its model.
    ends: Sequence[str] = ()
    #: Whether the form, filled in, leaves anything in the book.
    writes: bool = True
    #: Takes long: asked in fewer ways.
    is_slow: bool = False

    def __str__(self) -> str:
        return f"{self.name} of {self.of}" if self.of else self.name

    def address(self, its: Its) -> str:
        """The address, filled with somebody's things."""
        return reverse(self.name, args=self.args(its) if self.args else [])

    def expected(self, role: str, method: str, its: Its) -> int | str:
        """What somebody is answered for asking in this way."""
        instead = self.signed_out if role in (ANONYMOUS, FORMER_MEMBER) else self.signed_in
        instead = {**instead, **self.by_role.get(role, {})}
        if (special := instead.get(method, instead.get("*"))) is not None:
            return special
        answer = {"GET": self.get, "HEAD": self.get, "POST": self.post, **self.other}.get(method, 405)
        if role in self.who(its):
            return answer
        if role in (ANONYMOUS, FORMER_MEMBER):
            return SIGN_IN
        return 404 if answer != 405 or self.asks_who_first else 405

    def doer(self, its: Its) -> str:
        """Whoever fills in the form: the one whose things they are, if they may, or else a coordinator."""
        allowed = set(self.who(its))
        return next(role for role in (ANONYMOUS, its.role, COORDINATOR) if role in allowed)

    def typed_by(self, its: Its) -> dict[str, Any]:
        """What is typed into the form, before which all else stands as the page has it."""
        return dict(self.typed(its) if callable(self.typed) else self.typed)


def addresses_of(patterns: Iterable[URLPattern | URLResolver], spaces: str = "", path: str = "") -> Iterable[str]:
    """The names of all addresses, with their namespaces; of one without a name what it looks like."""
    for pattern in patterns:
        here = f"{path}{pattern.pattern}"
        if isinstance(pattern, URLResolver):
            inner = f"{spaces}{pattern.namespace}:" if pattern.namespace else spaces
            yield from addresses_of(pattern.url_patterns, inner, here)
        else:
            yield f"{spaces}{pattern.name}" if pattern.name else here
