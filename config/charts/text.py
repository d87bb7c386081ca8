"""How much room words take in a picture, so that no label lies on another.

The widths are those of the face for text (Atkinson Hyperlegible Next, regular, in em) with a margin, because a bold
word is wider, and so is the face that stands in where it is not loaded.
"""

from config.look.tokens import CHART_TYPE

_MARGIN, _BOLD_MARGIN = 1.0, 1.06
#: A letter of another script, of which the widest (Chinese, Japanese, Korean) take a whole em.
_OTHER, _WIDEST, _FIRST_WIDE = 72, 100, 0x2E80
#: A hundredth of an em for each letter, digit and sign.
_EM = {
    **dict.fromkeys("'", 17),
    **dict.fromkeys(".,:;", 22),
    **dict.fromkeys("ijl ’!()", 30),
    **dict.fromkeys("frt-/I", 40),
    **dict.fromkeys("csvxyzk?–", 50),
    **dict.fromkeys("aeghnobpdquJLFTEY", 58),
    **dict.fromkeys("ABCKPRSVXZ0123456789−+£", 65),
    **dict.fromkeys("wDGHNOQU…&", 74),
    **dict.fromkeys("mMW%", 93),
}


def width_of(text: str, *, size: float = CHART_TYPE, is_bold: bool = False) -> float:
    """How wide a line of text is at most, in units of the picture."""
    hundredths = sum(_EM.get(char, _WIDEST if ord(char) >= _FIRST_WIDE else _OTHER) for char in text)
    return hundredths * size / 100 * (_BOLD_MARGIN if is_bold else _MARGIN)


def fitted(text: str, room: float, *, is_bold: bool = False) -> str:
    """The text, or as much of it as fits into ``room`` units and an ellipsis; empty if not even one letter fits."""
    if width_of(text, is_bold=is_bold) <= room:
        return text
    for length in range(len(text) - 1, 0, -1):
        cut = f"{text[:length].rstrip()}…"
        if width_of(cut, is_bold=is_bold) <= room:
            return cut
    return ""
