"""The five places of the book, which of them a page belongs to, and the page that a co-op may switch off."""

from typing import NamedTuple

from django import template
from django.template import RequestContext
from django.urls import reverse

from instructors.access import settings_of

register = template.Library()


class Place(NamedTuple):
    """One place: its words, its icon, the page it opens, and the roots of the addresses that belong to it."""

    words: str
    icon: str
    page: str
    roots: frozenset[str]


#: A page whose address has none of these roots belongs to the last place.
PLACES = (
    Place("Today", "today", "costing:home", frozenset({""})),
    Place(
        "Entries",
        "entries",
        "costing:entries",
        frozenset({"entries", "fills", "costs", "lessons", "receipts", "repeats", "bring", "statement"}),
    ),
    Place("Group", "group", "costing:group", frozenset({"group"})),
    Place(
        "Cars",
        "car",
        "fleet:car-list",
        frozenset({"cars", "due", "done", "defects", "new-car", "check-points", "photos"}),
    ),
    Place("More", "more", "costing:more", frozenset()),
)


class PlaceLink(NamedTuple):
    """A place as the navigation shows it. ``current`` is the value of aria-current: "page", "true" or nothing."""

    place: Place
    to: str
    current: str


@register.simple_tag
def places(path: str) -> list[PlaceLink]:
    """The places in order, the one that ``path`` belongs to marked."""
    root = path.split("/")[1] if path.startswith("/") else ""
    here = next((place for place in PLACES if root in place.roots), PLACES[-1])
    links = []
    for place in PLACES:
        to = reverse(place.page)
        current = "page" if path == to else "true" if place is here else ""
        links.append(PlaceLink(place, to, current))
    return links


@register.simple_tag(takes_context=True)
def rent_or_own(context: RequestContext) -> str:
    """The address of “Rent or your own?”; "" while the co-op has it switched off."""
    return reverse("costing:rent-or-own") if settings_of(context["request"]).rent_or_own_is_open else ""
