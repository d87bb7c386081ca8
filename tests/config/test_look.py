"""The tokens: each pair has its contrast, each stack can be read in greyscale, and the stylesheets say nothing else."""

import re
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from django.conf import settings

from config.charts import paints
from config.look.stylesheet import made_stylesheets
from config.look.tokens import OFFERS, PAIRS, SHADES, STATES, TONES, TYPE, Pair, Tone
from costing.core.catalogue.costs import CostGroup
from fleet.core.due import State

STATIC = settings.BASE_DIR / "static"
STYLESHEETS = ("app.css", "pages.css", "pdf.css")
SCHEMES = ("light", "dark")
#: Steps of lightness that can be told apart side by side: common practice, no source.
_LEAST_STEP = 1.2


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb, as WCAG 2.2 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21, as WCAG 2.2 defines it."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_guidelines_do() -> None:
    # W3C, Understanding WCAG 2.2, 1.4.3: black on white is 21:1, #777777 on white 4.48:1 (G18's example is 4.5).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("pair", PAIRS, ids=lambda pair: f"{pair.ink} on {pair.ground}")
def test_an_ink_stands_out_from_its_ground(pair: Pair, scheme: str) -> None:
    found = contrast(getattr(SHADES[pair.ink], scheme), getattr(SHADES[pair.ground], scheme))
    assert found >= pair.least


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", ["paper", "card"])
def test_tones_and_offers_stand_out_from_what_they_are_drawn_on(ground: str, scheme: str) -> None:
    for one in (*TONES.values(), *OFFERS):
        assert contrast(getattr(one, scheme), getattr(SHADES[ground], scheme)) >= 3, one


@pytest.mark.parametrize("scheme", SCHEMES)
def test_any_two_tones_of_a_stack_differ_in_greyscale(scheme: str) -> None:
    """A month without a group makes others neighbours, so it is not enough that neighbours differ."""
    for one, other in combinations(TONES.values(), 2):
        assert contrast(getattr(one, scheme), getattr(other, scheme)) >= _LEAST_STEP - 0.05, (one, other)
    for one, other in pairwise(TONES.values()):
        assert contrast(getattr(one, scheme), getattr(other, scheme)) >= 1.4, (one, other)


def test_each_tone_has_a_pattern_of_its_own() -> None:
    patterns = [(tone.pattern, tone.marks) for tone in TONES.values()]
    assert len(set(patterns)) == len(patterns)
    assert [tone.name for tone in TONES.values() if not tone.marks] == ["value"]


def test_groups_of_costs_and_states_all_have_a_look() -> None:
    assert [str(group) for group in CostGroup] == list(TONES)
    assert {*(str(state) for state in State), "off"} == set(STATES)


def test_an_offer_keeps_letter_shape_and_stroke_of_its_own() -> None:
    for told in ("letter", "shape", "dashes"):
        values = [getattr(offer, told) for offer in OFFERS]
        assert len(set(values)) == len(values), told
    # The words that people call them by; whoever changes them changes every file, page and paper that has been made.
    assert [(offer.letter, offer.shape) for offer in OFFERS[:4]] == [
        ("A", "circle"),
        ("B", "square"),
        ("C", "hexagon"),
        ("D", "triangle"),
    ]


@pytest.mark.parametrize("tone", TONES.values(), ids=lambda tone: tone.name)
def test_a_tone_keeps_its_colour(tone: Tone) -> None:
    kept = {
        "value": ("#1f458f", "#5d87d7"),
        "fuel": ("#0d886d", "#74debf"),
        "finance": ("#9f2612", "#ef715a"),
        "insurance": ("#8d6408", "#e9af40"),
        "service": ("#193800", "#49782a"),
        "rest": ("#ab72a6", "#ffd2f9"),
        "tyres": ("#443b36", "#827872"),
        "tax": ("#08668e", "#4db1e6"),
    }
    assert (tone.light, tone.dark) == kept[tone.name]


@pytest.mark.parametrize(("path", "text"), made_stylesheets(STATIC).items(), ids=lambda one: getattr(one, "name", ""))
def test_a_stylesheet_has_the_tokens_as_they_are(path: Path, text: str) -> None:
    assert path.read_text() == text, "run: make look"


def _without_tokens(text: str) -> str:
    return re.sub(r"/\* tokens:.*?/\* end of tokens \*/", "", text, flags=re.S)


def _sources() -> list[Path]:
    files = [*settings.BASE_DIR.glob("templates/**/*.*"), *STATIC.glob("*.js"), STATIC / "icons/sprite.svg"]
    code = [path for app in ("config", "instructors", "fleet", "costing") for path in Path(app).rglob("*.py")]
    return files + [settings.BASE_DIR / path for path in code if path.name != "tokens.py"]


def test_no_colour_is_spelled_outside_the_tokens() -> None:
    texts = {path: path.read_text() for path in _sources()}
    texts |= {path: _without_tokens(path.read_text()) for path in (STATIC / name for name in STYLESHEETS)}
    spelled = {
        path.name: found for path, text in texts.items() if (found := re.findall(r"(?<!&)#[0-9a-fA-F]{6}\b", text))
    }
    assert not spelled


def _classes_of_stylesheet(name: str) -> set[str]:
    rules = re.sub(r"/\*.*?\*/", "", _without_tokens((STATIC / name).read_text()), flags=re.S)
    selectors = re.sub(r"\{[^{}]*\}", " ", rules)
    return set(re.findall(r"\.(-?[a-zA-Z_][\w-]*)", re.sub(r'url\("[^"]*"\)', "", selectors)))


#: What a mark of a drawing may be painted with; that each is used is tried with the drawings.
_PAINTS = {f"{how}-{paint}" for how in "ck" for paint in paints.SCHEMES["light"]}


def _words_of_sources() -> set[str]:
    return {word for path in _sources() for word in re.findall(r"[\w-]+", path.read_text())}


def test_no_class_of_the_stylesheets_is_unused() -> None:
    made_of_parts = _PAINTS | {f"st-{state}" for state in STATES}
    known = _words_of_sources() | made_of_parts | {"htmx-request"}
    for name in STYLESHEETS:
        assert not _classes_of_stylesheet(name) - known, name


def test_every_class_of_a_page_is_in_the_stylesheet() -> None:
    styled = set().union(*map(_classes_of_stylesheet, STYLESHEETS))
    strays = {}
    for path in settings.BASE_DIR.glob("templates/**/*.html"):
        if path.parent.name in {"mail", "email"}:
            continue
        for value in re.findall(r'class="((?:\{%.*?%\}|\{\{.*?\}\}|[^"{])*)"', path.read_text(), flags=re.S):
            plain = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", " ", value, flags=re.S)
            for name in plain.split():
                if name not in styled and not name.endswith("-"):
                    strays.setdefault(name, set()).add(path.name)
    assert strays == {}


def test_the_note_at_the_head_of_the_stylesheet_names_each_class() -> None:
    text = (STATIC / "app.css").read_text()
    note = text[: text.index("*/")]
    named = set(re.findall(r"\.([a-z][\w-]*)", note))
    styled = _classes_of_stylesheet("app.css") | _classes_of_stylesheet("pages.css")
    assert sorted(styled - named - _TOLD_TOGETHER) == []


#: Classes that the note tells with what they belong to.
_TOLD_TOGETHER = {"signed-in", "signed-out", "htmx-request"} | _PAINTS


def test_type_grows_step_by_step() -> None:
    sizes = list(TYPE.values())
    assert sizes == sorted(sizes)
    assert sizes[0] >= 14 / 16
