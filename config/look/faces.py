"""Makes the book's two faces from their packages, cut to what its English uses: `make faces`, on a developer's machine.

A character that is not in CHARACTERS falls to the system face that tokens.FACES names after ours.
"""

import shutil
import sys
from pathlib import Path
from typing import NamedTuple

from fontTools import subset
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

#: Basic Latin, and what else the book's own English is written with. The last is the no-break space.
CHARACTERS = "".join(map(chr, range(0x20, 0x7F))) + "£½¼¾–—\u2018’“”…·×−\u00a0"
#: Pairs moved closer, and figures of one width, which columns ask for (font-variant-numeric: tabular-nums).
FEATURES = ["kern", "tnum"]
#: Signs of code, which no head and no figure has. Whoever types one in a name that heads a page gets the system's.
SIGNS_OF_CODE = frozenset("#$<>[\\]^_`{|}~")


class Face(NamedTuple):
    """One face: its file's name, which is the end of its package's, the weights it keeps, and what it need not draw."""

    name: str
    weight: float | tuple[float, float]
    lacks: frozenset[str] = frozenset()

    @property
    def characters(self) -> frozenset[str]:
        """What it draws."""
        return frozenset(CHARACTERS) - self.lacks


FACES = (Face("besley", 600, SIGNS_OF_CODE), Face("atkinson-hyperlegible-next", (400, 700)))


def make(face: Face, package: Path, folder: Path) -> Path:
    """Write the face's woff2 and its licence into ``folder`` and return the woff2; twice, the same bytes.

    Raises OSError if the package does not hold the face, ValueError if a character is missing from it.
    """
    source = package / "files" / f"{face.name}-latin-wght-normal.woff2"
    font = TTFont(source, recalcTimestamp=False)
    missing = face.characters - set(map(chr, font.getBestCmap()))
    if missing:
        raise ValueError(f"{source.name} has no glyph for {' '.join(sorted(missing))}")
    options = subset.Options(flavor="woff2", layout_features=FEATURES, hinting=False, notdef_outline=True)
    cutter = subset.Subsetter(options)
    cutter.populate(text="".join(face.characters))
    cutter.subset(font)
    made = instancer.instantiateVariableFont(font, {"wght": face.weight})
    _mend_zero(made)
    target = folder / f"{face.name}.woff2"
    subset.save_font(made, target, options)
    shutil.copyfile(package / "LICENSE", folder / f"{face.name}-OFL.txt")
    return target


def _mend_zero(font: TTFont) -> None:
    """Besley 5.3.0 forgets its zero of one width as it grows bold: put the plain zero in the middle of its one's."""
    zero, one = "uniFF10", "uniFF11"
    if zero not in font.getGlyphOrder():
        return
    glyphs, widths = font["glyf"], font["hmtx"].metrics
    width, (plain_width, plain_left) = widths[one][0], widths["zero"]
    aside = (width - plain_width) // 2
    pen = TTGlyphPen(None)
    glyphs["zero"].draw(TransformPen(pen, (1, 0, 0, 1, aside, 0)), glyphs)
    glyphs[zero] = pen.glyph()
    widths[zero] = width, plain_left + aside


def main(packages: Path, folder: Path) -> None:
    """Make every face from ``packages``, which holds each package unpacked under its face's name, and say its size."""
    for face in FACES:
        made = make(face, packages / face.name, folder)
        print(f"{made}: {made.stat().st_size:,} bytes")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
