"""Our stylesheets and scripts as they are collected: the same to a browser, without what only readers need."""

import re
from pathlib import Path

import pytest
from django.conf import settings

from config.lean import lean

OWN = sorted([*(settings.BASE_DIR / "static").glob("*.js"), *(settings.BASE_DIR / "static").glob("*.css")])
SCRIPTS, STYLES = ([path for path in OWN if path.suffix == kind] for kind in (".js", ".css"))
#: The slow road: a text in quotation marks or backticks, an expression, a comment, a word or number, two signs that
#: would say something else with a space between them, or any other sign.
SCRIPT = re.compile(
    r"""(?P<comment>//[^\n]*|/\*.*?\*/)|"(?:\\.|[^"\\\n])*"|`(?:\\.|[^`\\])*`|(?<=[(,=:&|!?])\s*/(?:\\.|\[[^\]\n]*\]|[^/\\\n])+/[a-z]*"""
    r"""|[\w$]+|\+\+|--|=>|[=!<>]=+|&&|\|\||\*\*|\?\.|\S""",
    re.DOTALL,
)
STYLE = re.compile(r'(?P<comment>/\*.*?\*/)|"[^"\n]*"|\s*[{};,]\s*|:\s+|\s+|[^\s{};,:"]+|:', re.DOTALL)


def parts(kind: re.Pattern[str], text: str) -> list[str]:
    """All that a file says, in its order, and in a stylesheet where it has space that may say something."""
    return [found[0].strip() for found in kind.finditer(text) if not found["comment"]]


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.name)
def test_nothing_but_comments_and_needless_space_is_left_out(path: Path) -> None:
    text = path.read_text()
    left, kind = lean(text, path.name), SCRIPT if path.suffix == ".js" else STYLE
    assert len(left) < len(text)
    assert lean(left, path.name) == left
    without = text if path.suffix == ".js" else re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL).strip() + "\n"
    assert parts(kind, left) == parts(kind, without)
    assert not any(found["comment"] for found in kind.finditer(left))


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.name)
def test_no_script_has_a_text_in_backticks_within_another_or_over_several_lines(path: Path) -> None:
    code = re.sub(r"^\s*//.*", "", path.read_text(), flags=re.MULTILINE)
    assert [line for line in code.splitlines() if line.count("`") % 2] == []
    assert [text for text in re.findall(r"`[^`]*`", code) if text.count("${") != text.count("}")] == []


@pytest.mark.parametrize("path", STYLES, ids=lambda path: path.name)
def test_no_stylesheet_has_a_text_in_single_quotation_marks(path: Path) -> None:
    assert "'" not in re.sub(r"/\*.*?\*/", "", path.read_text(), flags=re.DOTALL)


def test_what_is_no_comment_and_no_needless_space_stays() -> None:
    assert lean("a();\n  // why\n  b('//x', `a  b`); // and how\n\n", "x.js") == "a();b('//x',`a  b`);\n"
    assert lean("a + +b\nc", "x.js") == "a+ +b\nc\n"
    styles = '/* a\n b */\n.a :hover,\n  .b > .c {\n  margin: 0 auto; content: ", "; }\n'
    styles += "@media (width > 2rem) { .d { top: calc(1px + 2px); } }\n"
    left = '.a :hover,.b > .c{margin:0 auto;content:", ";}@media (width > 2rem){.d{top:calc(1px + 2px);}}\n'
    assert lean(styles, "x.css") == left
