"""Every kind of drawing, mark by mark, as its golden file has it: on a light and a dark screen, in greyscale, on paper.

To renew them on purpose, look at the drawings first, then run this with ``RENEW_DRAWINGS=1`` in the environment and
read the difference.
"""

import os
from pathlib import Path

import pytest

from config.charts.marks import NARROW, WIDE
from config.charts.paints import SCHEMES
from config.charts.rendering import svg
from tests.config.drawings import DRAWINGS

GOLDEN = Path(__file__).parent / "golden"
MAY_RENEW = "RENEW_DRAWINGS" in os.environ
#: Too wide for a phone.
ONLY_WIDE = {"lanes"}


def drawn(kind: str, scheme: str) -> str:
    """A phone shows the narrow one; paper takes the wide one."""
    frame = WIDE if scheme == "paper" or kind in ONLY_WIDE else NARROW
    return svg(DRAWINGS[kind].draw(frame), kind, scheme)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("kind", DRAWINGS)
def test_a_drawing_is_as_its_golden_file_has_it(kind: str, scheme: str) -> None:
    golden = GOLDEN / f"{kind}.{scheme}.svg"
    if MAY_RENEW:
        golden.write_text(drawn(kind, scheme))
    assert drawn(kind, scheme) == golden.read_text(), "to renew it on purpose, see the head of this file"


def test_there_is_no_golden_file_without_a_drawing() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == {
        f"{kind}.{scheme}.svg" for kind in DRAWINGS for scheme in SCHEMES
    }
