"""The two faces: small, free to pass on, and with a glyph for all that the book's own English is written with."""

import re
from pathlib import Path

import pytest
from django.conf import settings
from fontTools.ttLib import TTFont

from config.look.faces import FACES, Face, make
from config.look.tokens import FACES as STACKS

BASE = Path(settings.BASE_DIR)
FOLDER = BASE / "static" / "faces"
#: Signs that a file of a member's may hold, and that no page shows.
ONLY_READ = {"costing/importing/core/sums.py", "costing/importing/core/rows.py"}
#: The most bytes each may have, so that a first visit is short on a slow line.
MOST = 12_500
#: What the system's faces draw: a sign on paper, the signs of states in mails, and made-up members' names.
OTHERS_DRAW = set("★⊖▼◇▣○◔◑◕●")
MADE_UP = {"costing/demo/cast.py"}

every_face = pytest.mark.parametrize("face", FACES, ids=[face.name for face in FACES])


def own_words() -> set[str]:
    """Every character in templates and code, which hold all that the book says by itself."""
    sources = [*(BASE / "templates").rglob("*.*"), BASE / "static" / "app.js"]
    for app in ("config", "instructors", "fleet", "costing"):
        sources += (BASE / app).rglob("*.py")
    words = (path.read_text() for path in sources if path.relative_to(BASE).as_posix() not in MADE_UP | ONLY_READ)
    return set().union(*words) - {"\n"}


@every_face
def test_each_is_small_and_of_the_kind_that_every_browser_reads(face: Face) -> None:
    written = (FOLDER / f"{face.name}.woff2").read_bytes()
    assert written.startswith(b"wOF2")
    assert len(written) < MOST


@every_face
def test_each_draws_the_book_s_own_english_with_figures_of_one_width(face: Face) -> None:
    font = TTFont(FOLDER / f"{face.name}.woff2")
    drawn = set(map(chr, font.getBestCmap()))
    assert drawn == face.characters
    assert own_words() - drawn <= OTHERS_DRAW | face.lacks
    assert {record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord} == {"tnum"}
    assert {record.FeatureTag for record in font["GPOS"].table.FeatureList.FeatureRecord} == {"kern"}


def test_no_head_of_ours_and_no_figure_has_a_sign_that_the_face_of_heads_lacks() -> None:
    templates = (path.read_text() for path in (BASE / "templates").rglob("*.html"))
    heads = [head for text in templates for head in re.findall(r"<(h[1-3])\b[^>]*>(.*?)</\1>", text, re.S)]
    words = re.sub(r"<[^>]*>|\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}", "", "".join(words for _, words in heads), flags=re.S)
    assert len(heads) > 100
    assert not FACES[0].lacks & {*words, *"0123456789.,-−£%½¼¾"}


def test_one_has_the_weight_of_heads_and_the_other_all_from_text_to_bold() -> None:
    besley, atkinson = (TTFont(FOLDER / f"{face.name}.woff2") for face in FACES)
    assert ("fvar" in besley, besley["OS/2"].usWeightClass) == (False, 600)
    [axis] = atkinson["fvar"].axes
    assert (axis.axisTag, axis.minValue, axis.maxValue) == ("wght", 400, 700)


def width_of_stem(font: TTFont, glyph: str) -> int:
    """How thick a zero is at its middle, in units of the font, at its left."""
    outer, inner, *_ = sorted(min(x for x, _ in contour) for contour in contours_of(font, glyph))
    return inner - outer


def contours_of(font: TTFont, glyph: str) -> list[list[tuple[int, int]]]:
    points, ends, _ = font["glyf"][glyph].getCoordinates(font["glyf"])
    starts = [0, *(end + 1 for end in ends)]
    return [list(points[start : end + 1]) for start, end in zip(starts, ends, strict=False)]


@every_face
def test_figures_of_one_width_are_so_and_their_zero_is_as_bold_as_the_plain_one(face: Face) -> None:
    font = TTFont(FOLDER / f"{face.name}.woff2")
    [lookup] = font["GSUB"].table.LookupList.Lookup
    instead = {was: now for table in lookup.SubTable for was, now in table.mapping.items()}
    plain = [font.getBestCmap()[ord(figure)] for figure in "0123456789"]
    figures = [instead.get(one, one) for one in plain]
    assert len({font["hmtx"].metrics[figure][0] for figure in figures}) == 1
    assert width_of_stem(font, figures[0]) == width_of_stem(font, plain[0])


@every_face
def test_its_licence_lies_beside_it(face: Face) -> None:
    words = (FOLDER / f"{face.name}-OFL.txt").read_text()
    assert "SIL Open Font License, Version 1.1" in words
    assert words.startswith("Copyright")


def test_nothing_else_lies_there() -> None:
    made = {f"{face.name}{end}" for face in FACES for end in (".woff2", "-OFL.txt")}
    assert {path.name for path in FOLDER.iterdir()} == made


@pytest.mark.parametrize("which", STACKS)
def test_a_face_of_the_system_stands_in_for_what_it_lacks(which: str) -> None:
    first, *others = STACKS[which].split(", ")
    names = {TTFont(FOLDER / f"{face.name}.woff2")["name"].getDebugName(1) for face in FACES}
    assert first.strip('"') in names
    assert others[-1] in ("serif", "sans-serif")


def test_a_package_that_lacks_a_character_of_ours_is_refused(tmp_path: Path) -> None:
    face = FACES[0]
    font = TTFont(FOLDER / f"{face.name}.woff2")
    for table in font["cmap"].tables:
        table.cmap.pop(ord("£"), None)
    (tmp_path / "files").mkdir()
    font.save(tmp_path / "files" / f"{face.name}-latin-wght-normal.woff2")
    with pytest.raises(ValueError, match=r"no glyph for £$"):
        make(face, tmp_path, tmp_path)
