"""More: the ways to what has no place of its own; and which place a page belongs to."""

import pytest
from django.test import Client
from django.urls import reverse

from costing.templatetags.places import PLACES, places
from tests.costing.pages import text_of

MORE = reverse("costing:more")
COORDINATORS_WAYS = [reverse(name) for name in ("instructors:people", "instructors:settings", "fleet:reminder-log")]


def links_of(client: Client) -> str:
    return client.get(MORE).content.decode()


def test_it_leads_each_member_to_what_is_theirs(everyone: dict[str, Client]) -> None:
    page = links_of(everyone["keeper"])
    for name in ("fleet:profile", "fleet:calendar-feeds", "fleet:reminder-choices", "costing:comparison-list"):
        assert f'href="{reverse(name)}"' in page
    assert not any(f'href="{way}"' in page for way in COORDINATORS_WAYS)


def test_a_coordinator_finds_the_ways_of_the_role(everyone: dict[str, Client]) -> None:
    page = links_of(everyone["coordinator"])
    assert all(f'href="{way}"' in page for way in COORDINATORS_WAYS)


def test_one_signs_out_from_here(everyone: dict[str, Client]) -> None:
    page = links_of(everyone["keeper"])
    assert f'action="{reverse("account_logout")}"' in page
    assert "You are signed in as" in text_of(everyone["keeper"].get(MORE))


@pytest.mark.parametrize(
    ("path", "place"),
    [
        (reverse("costing:home"), "Today"),
        (reverse("costing:fill-log"), "Entries"),
        (reverse("costing:entries"), "Entries"),
        (reverse("costing:group"), "Group"),
        (reverse("fleet:month"), "Cars"),
        (reverse("fleet:car", args=["QA51ABC"]), "Cars"),
        (reverse("fleet:profile"), "More"),
        (reverse("costing:comparison-list"), "More"),
        (MORE, "More"),
    ],
)
def test_each_page_belongs_to_one_place(path: str, place: str) -> None:
    marked = [link for link in places(path) if link.current]
    assert [link.place.words for link in marked] == [place]
    assert marked[0].current == ("page" if path == marked[0].to else "true")


def test_the_places_are_five_and_stand_in_their_order(everyone: dict[str, Client]) -> None:
    assert [place.words for place in PLACES] == ["Today", "Entries", "Group", "Cars", "More"]
    page = links_of(everyone["keeper"])
    navigation = page[page.index('<nav class="nav"') :]
    at = [navigation.index(f'href="{reverse(place.page)}"') for place in PLACES]
    assert at == sorted(at)
