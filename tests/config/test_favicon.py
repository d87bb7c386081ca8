"""The book's own sign in a browser's tab: the accent and the paper of the look, by day and by night."""

import re

from django.conf import settings

from config.look.tokens import SHADES


def test_its_colours_are_the_tokens() -> None:
    [drawing] = [folder / "icons" / "favicon.svg" for folder in settings.STATICFILES_DIRS]
    light, dark = ({getattr(SHADES[name], scheme) for name in ("accent", "paper")} for scheme in ("light", "dark"))
    night, day = re.fullmatch(r"<svg [^>]*><style>(.*)</style>(.*)</svg>\s*", drawing.read_text()).groups()
    assert set(re.findall(r"#[0-9a-f]{6}", day)) == light
    assert set(re.findall(r"#[0-9a-f]{6}", night)) == dark
    assert "prefers-color-scheme:dark" in night
