"""The book's sign as pictures for a phone's home screen, drawn from ``static/icons/favicon.svg``.

``python -m config.look.icons`` writes them anew; whoever changes the sign or the tokens does so.
"""

import io
import re
from pathlib import Path

from config.look.tokens import SHADES

ICONS = Path(__file__).resolve().parents[2] / "static" / "icons"
#: By file: its pixels a side, and how much of a side the sign takes. A phone cuts a maskable icon to a shape of its
#: own, within a circle of four fifths of a side (W3C, Web Application Manifest, "Icon masks and safe zone").
SIZES = {"icon-192.png": (192, 0.86), "icon-512.png": (512, 0.86), "icon-maskable-512.png": (512, 0.6)}
#: Colours a picture keeps: those of the sign, and what lies between them along its edges.
_COLOURS = 16


def drawn(pixels: int, part: float) -> bytes:
    """A PNG of ``pixels`` a side: the sign on paper, taking ``part`` of a side."""
    # The pages need the sizes alone.
    import pypdfium2
    import weasyprint
    from PIL import Image

    sign = re.sub("<style>.*?</style>", "", (ICONS / "favicon.svg").read_text())
    side = round(pixels * part)
    edge = (pixels - side) / 2
    page = (
        f"<style>@page{{size:{pixels}px;margin:0;background:{SHADES['paper'].light}}}"
        f"body{{margin:{edge}px}}svg{{display:block;width:{side}px;height:{side}px}}</style>{sign}"
    )
    pdf = pypdfium2.PdfDocument(weasyprint.HTML(string=page).write_pdf())
    # A pixel of the page is three quarters of a point.
    picture: Image.Image = pdf[0].render(scale=4 / 3).to_pil().convert("RGB").resize((pixels, pixels))
    file = io.BytesIO()
    picture.quantize(_COLOURS, dither=Image.Dither.NONE).save(file, "PNG", optimize=True)
    return file.getvalue()


def main() -> None:
    """Write each picture beside the sign."""
    for name, (pixels, part) in SIZES.items():
        (ICONS / name).write_bytes(drawn(pixels, part))


if __name__ == "__main__":
    main()
