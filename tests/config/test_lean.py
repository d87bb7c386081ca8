"""Our stylesheets and scripts as they are collected: the same to a browser, without what only readers need."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from config.lean import lean

OWN = sorted([*(settings.BASE_DIR / "static").glob("*.js"), *(settings.BASE_DIR / "static").glob("*.css")])


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_nothing_but_comments_and_space_is_left_out(path: Path) -> None:
    text = path.read_text()
    left = lean(text, path.name)
    assert len(left) < len(text)
    assert lean(left, path.name) == left
    if path.suffix == ".css":
        without = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
        assert left.split() == without.split()
        assert "/*" not in left
        # A selector or a value may not be split over lines in a way that needs its indentation.
        assert left.count("{") == without.count("{")
    else:
        without = "\n".join(line for line in text.splitlines() if not line.strip().startswith("//"))
        assert left.split() == without.split()


@pytest.mark.parametrize("path", [path for path in OWN if path.suffix == ".js"], ids=lambda path: path.name)
def test_no_script_has_a_text_over_several_lines(path: Path) -> None:
    odd = [line for line in path.read_text().splitlines() if line.count("`") % 2 and not line.strip().startswith("//")]
    assert odd == []
    assert "/*" not in re.sub(r"//.*", "", path.read_text())


def test_what_is_no_comment_stays() -> None:
    assert lean("a();\n  // why\n  b('//x'); // and how\n\n", "x.js") == "a();\nb('//x'); // and how\n"
    assert lean("/* a\n b */\n.a {\n  color: red; }\n", "x.css") == ".a {\ncolor: red; }\n"
