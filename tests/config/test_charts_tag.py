"""Drawings on a page and on paper: two for two widths, ids of their own, classes that the stylesheet has, a PDF."""

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import pytest
from django.conf import settings
from django.template import engines

from config.charts.dial import LessonHourDial
from config.charts.marks import NARROW, WIDE, Drawn
from config.charts.paints import SCHEMES
from config.charts.rendering import svg
from config.look.tokens import FACES, OFFERS, TONES
from tests.config.drawings import DRAWINGS, MONTHS, POUND

PAINT = re.compile(r"[ck]-[\w-]+")


def rendered(template: str, **context: object) -> str:
    return engines["pages"].from_string(template).render(context)


def ids(page: str) -> list[str]:
    return re.findall(r' id="([^"]*)"', page)


def test_a_page_has_a_narrow_and_a_wide_drawing_with_ids_of_their_own() -> None:
    page = rendered('{% chart months "months" %}{% chart pound "pound" %}', months=MONTHS, pound=POUND)
    assert page.count('<div class="only-narrow drawn" tabindex="0"') == page.count('<div class="only-wide"><svg') == 2
    assert page.count('role="img"') == 4
    assert len(ids(page)) == len(set(ids(page)))
    assert set(re.findall(r'aria-(?:labelledby|describedby)="([^"]*)"', page)) <= set(ids(page))
    assert page.count(f'<title id="months-n-t">{MONTHS.title}</title>') == 1


@pytest.mark.parametrize(("sheet", "width"), [("wide", WIDE.width), ("paper", WIDE.width)])
def test_a_drawing_may_be_for_one_sheet_alone(sheet: str, width: int) -> None:
    page = rendered(f'{{% chart pound "pound" "{sheet}" %}}', pound=POUND)
    assert page.startswith("<svg")
    assert page.count("<svg") == 1
    assert f'viewBox="0 0 {width} ' in page


def test_what_has_words_scrolls_once_they_are_larger_than_the_phone_has_room_for() -> None:
    pound, dial = (rendered('{% chart one "one" "narrow" %}', one=one) for one in (POUND, LessonHourDial("Dial", 71)))
    assert pound.startswith(f'<div class="drawn" tabindex="0" role="group" aria-label="{POUND.title}"><svg')
    assert f'viewBox="0 0 {NARROW.width} ' in pound
    assert dial.startswith("<svg")


def test_a_column_opens_its_page_on_a_screen_and_nothing_on_paper() -> None:
    columns = tuple(column._replace(to=f"/one/?a={place}&b") for place, column in enumerate(MONTHS.columns))
    linked = replace(MONTHS, columns=columns)
    for frame in (NARROW, WIDE):
        drawing = linked.draw(frame)
        assert [link.to for link in drawing.links] == [column.to for column in columns]
        boxes = [link.box for link in drawing.links]
        # Side by side, from the top down to the month's name, and as wide as there is room.
        assert all(left.right == pytest.approx(right.x) for left, right in pairwise(boxes))
        assert {(box.y, box.height) for box in boxes} == {(0, drawing.height)}
    page = svg(linked.draw(NARROW), "x")
    assert page.startswith('<svg class="chart"')
    assert 'role="group"' in page
    words = "May 2026: not known"
    assert f'<a href="/one/?a=6&amp;b" aria-label="{words}"><title>{words}</title><rect fill-opacity="0"' in page
    for unlinked in (svg(linked.draw(WIDE), "x", "paper"), svg(MONTHS.draw(NARROW), "x")):
        assert "<a " not in unlinked
        assert 'role="img"' in unlinked


def test_nothing_is_drawn_of_nothing() -> None:
    assert rendered('{% chart nothing "x" %}', nothing=None) == ""


def test_words_from_a_member_are_escaped() -> None:
    page = rendered('{% chart one "x" %}', one=MONTHS.__class__("<b>&", MONTHS.groups, MONTHS.columns))
    assert "&lt;b&gt;&amp;" in page
    assert "<b>" not in page


def classes(kinds: dict[str, Drawn]) -> Iterator[str]:
    for drawn in kinds.values():
        for frame in (NARROW, WIDE):
            for value in re.findall(r'class="([^"]*)"', svg(drawn.draw(frame), "x")):
                yield from value.split()


def test_the_stylesheet_has_a_rule_for_each_paint_that_is_used_and_for_no_other() -> None:
    css = (settings.BASE_DIR / "static/pages.css").read_text()
    ruled = {
        name: variable for name, _, variable in re.findall(r"\.([ck]-[\w-]+) \{ (fill|stroke): var\(--([\w-]+)\)", css)
    }
    used = {name for name in classes(DRAWINGS) if PAINT.fullmatch(name)}
    # Every tone and every offer has its own, whether a sample shows it or not.
    always = {
        *(f"c-{tone}" for tone in TONES),
        *(f"{how}-o-{offer.letter.lower()}" for offer in OFFERS for how in "ck"),
    }
    also = {f"k-{tone}" for tone in TONES}
    assert used | always <= ruled.keys() <= used | always | also
    for name, variable in ruled.items():
        paint = name[2:]
        assert variable == (f"c-{paint}" if paint in TONES else paint)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_a_scheme_has_a_colour_for_every_paint(scheme: str) -> None:
    assert SCHEMES[scheme].keys() == SCHEMES["light"].keys()
    assert all(re.fullmatch(r"#[0-9a-f]{6}", colour) for colour in SCHEMES[scheme].values())


def test_a_greyscale_has_only_greys() -> None:
    assert all(colour[1:3] == colour[3:5] == colour[5:] for colour in SCHEMES["greyscale"].values())


def test_paper_has_its_faces_and_colours_in_the_drawing_itself() -> None:
    page = rendered('{% chart pound "pound" "paper" %}', pound=POUND)
    assert FACES["hand"].replace('"', "&quot;") in page
    for part in POUND.drawn:
        assert f'fill="{TONES[part.tone].light}"' in page


def test_a_swatch_has_its_tone_and_its_pattern_above_it() -> None:
    page = rendered('{% swatch "tax" "row" %}{% swatch "value" "row" %}')
    assert 'class="c-tax" fill="#08668e"' in page
    assert 'fill="url(#row-tax)"' in page
    assert ids(page) == ["row-tax"]


@pytest.mark.parametrize("kind", DRAWINGS)
def test_each_drawing_can_be_printed(kind: str) -> None:
    weasyprint = pytest.importorskip("weasyprint")
    html = f"<style>svg {{ width: 160mm }}</style>{svg(DRAWINGS[kind].draw(WIDE), kind, 'paper')}"
    document = weasyprint.HTML(string=html).render()
    assert len(document.pages) == 1
    assert document.write_pdf().startswith(b"%PDF")
