"""The marks of the offers: a letter on its shape, for each letter that an offer may have."""

import re

import pytest
from django.template.loader import render_to_string

from config.budgets import OFFERS_ON_A_PAGE
from config.look.offers import letter_place, offer_shape
from config.look.tokens import OFFERS, OfferLook
from config.templatetags.look import offer_mark


def test_there_is_a_letter_for_each_offer_of_a_page() -> None:
    assert [look.letter for look in OFFERS] == list("ABCDEFGHIJ"[:OFFERS_ON_A_PAGE])


@pytest.mark.parametrize("look", OFFERS, ids=lambda look: look.letter)
def test_a_mark_has_its_letter_on_its_shape_and_is_read_as_the_letter(look: OfferLook) -> None:
    page = render_to_string("_offer_mark.svg", offer_mark(look.letter))
    assert f'role="img"\naria-label="{look.letter}"' in page
    assert f'<path class="c-o-{look.letter.lower()}" d="{offer_shape(look.letter)}">' in page
    assert re.sub(r"<[^>]+>", "", page).strip() == look.letter
    baseline, size = map(float, letter_place(look.letter))
    assert 0 < baseline - 0.7 * size < baseline < 24, "the letter lies on its tile"


def test_what_is_no_letter_has_no_mark() -> None:
    with pytest.raises(KeyError):
        offer_mark("Z")
