"""The tokens as the variables at the head of each stylesheet; ``python -m config.look`` writes them there."""

from pathlib import Path

from config.look import tokens

#: Between these lines a stylesheet holds what is made from the tokens, and nothing else.
BEGINS, ENDS = "/* tokens: made by `make look` from config/look/tokens.py */", "/* end of tokens */"


def screen_tokens() -> str:
    """All tokens for a screen, light first; the dark ones count if the reader's device asks for them."""
    light = [*_colours("light"), *_measures()]
    dark = "\n".join(f"  {line}" for line in _colours("dark"))
    return f"{_root(light)}\n@media screen and (prefers-color-scheme: dark) {{\n  :root {{\n{dark}\n  }}\n}}"


def paper_tokens() -> str:
    """The colours and faces for paper: the light ones."""
    return _root([*_colours("light"), *_faces()])


def with_tokens(stylesheet: str, made: str) -> str:
    """The stylesheet with ``made`` between its two marks. Raises ValueError if it lacks them."""
    before, begins, rest = stylesheet.partition(BEGINS)
    _, ends, after = rest.partition(ENDS)
    if not (begins and ends):
        raise ValueError(f"the stylesheet lacks the line {BEGINS if not begins else ENDS}")
    return f"{before}{BEGINS}\n{made}\n{ENDS}{after}"


def made_stylesheets(folder: Path) -> dict[Path, str]:
    """Each stylesheet in ``folder`` as it must read, by its path."""
    kinds = {folder / "app.css": screen_tokens(), folder / "pdf.css": paper_tokens()}
    return {path: with_tokens(path.read_text(), made) for path, made in kinds.items()}


def _root(lines: list[str]) -> str:
    body = "\n".join(lines)
    return f":root {{\n{body}\n}}"


def _colours(scheme: str) -> list[str]:
    named = {shade.name: getattr(shade, scheme) for shade in tokens.SHADES.values()}
    named |= {f"c-{tone.name}": getattr(tone, scheme) for tone in tokens.TONES.values()}
    named |= {f"o-{offer.letter.lower()}": getattr(offer, scheme) for offer in tokens.OFFERS}
    return [f"  --{name}: {colour};" for name, colour in named.items()]


def _measures() -> list[str]:
    sizes = {f"t-{name}": size for name, size in tokens.TYPE.items()}
    sizes |= {f"s{number}": size for number, size in enumerate(tokens.SPACE, 1)}
    sizes |= tokens.TARGETS
    return [*(f"  --{name}: {size}rem;" for name, size in sizes.items()), *_faces()]


def _faces() -> list[str]:
    return [f"  --{name}: {face};" for name, face in tokens.FACES.items()]
