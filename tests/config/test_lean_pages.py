"""Pages are sent without the indentation of their templates; their words and lines stay."""

from django.template import engines
from django.template.loader import get_template


def test_a_page_has_no_indentation_and_every_line() -> None:
    template = get_template("base.html").template  # type: ignore[attr-defined]
    with open(template.origin.name) as file:
        lines = file.read().splitlines()
    assert any(line.startswith("    ") for line in lines)
    assert template.source.splitlines() == [line.lstrip() for line in lines]


def test_templates_of_libraries_have_none_either() -> None:
    source = get_template("django/forms/widgets/select.html").template.source  # type: ignore[attr-defined]
    assert "\n  " not in source


def test_plain_text_keeps_its_spaces() -> None:
    assert "lean_pages" not in str(engines["text"].engine.loaders)
