"""The migration that gives every offer a letter, where offers had come and gone."""

from importlib import import_module

import pytest
from django.apps import apps

from tests.factories import ComparisonFactory, OfferFactory

close_up = import_module("costing.migrations.0007_offers_keep_their_letter").close_up

pytestmark = pytest.mark.django_db


def test_offers_beyond_the_letters_close_up_and_keep_their_order() -> None:
    beyond, within = ComparisonFactory.create(), ComparisonFactory.create()
    for position in (3, 7, 8, 12):
        OfferFactory(comparison=beyond, name=f"At {position}", position=position)
    for position in (2, 7):
        OfferFactory(comparison=within, name=f"At {position}", position=position)
    close_up(apps, None)
    assert [(offer.letter, offer.name) for offer in beyond.offers.order_by("position")] == [
        ("A", "At 3"),
        ("B", "At 7"),
        ("C", "At 8"),
        ("D", "At 12"),
    ]
    assert [offer.position for offer in within.offers.order_by("position")] == [2, 7]
