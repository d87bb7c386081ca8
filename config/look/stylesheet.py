"""The tokens as the variables at the head of each stylesheet; ``python -m config.look`` writes them there."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from config.look import tokens

#: Between these lines a stylesheet holds what is made from the tokens, and nothing else.
BEGINS, ENDS = "/* tokens: made by `make look` from config/look/tokens.py */", "/* end of tokens */"


def screen_tokens() -> str:
    """All tokens for a screen but those of drawings."""
    return _in_both_schemes(_shades, _measures())


def drawing_tokens() -> str:
    """What only drawings are painted with on a screen, and so no log page: the tones, and the colours of offers."""
    return _in_both_schemes(_paints)


def paper_tokens() -> str:
    """The colours and faces for paper: the light ones."""
    return _root([*_shades("light"), *_paints("light"), *_faces()])


def with_tokens(stylesheet: str, made: str) -> str:
    """The stylesheet with ``made`` between its two marks. Raises ValueError if it lacks them."""
    before, begins, rest = stylesheet.partition(BEGINS)
    _, ends, after = rest.partition(ENDS)
    if not (begins and ends):
        raise ValueError(f"the stylesheet lacks the line {BEGINS if not begins else ENDS}")
    return f"{before}{BEGINS}\n{made}\n{ENDS}{after}"


def made_stylesheets(folder: Path) -> dict[Path, str]:
    """Each stylesheet in ``folder`` as it must read, by its path."""
    kinds = {"app.css": screen_tokens(), "pages.css": drawing_tokens(), "pdf.css": paper_tokens()}
    return {path: with_tokens(path.read_text(), made) for name, made in kinds.items() for path in [folder / name]}


def _root(lines: list[str]) -> str:
    body = "\n".join(lines)
    return f":root {{\n{body}\n}}"


def _in_both_schemes(colours: Callable[[str], list[str]], others: Sequence[str] = ()) -> str:
    """Light first; the dark ones count if the reader's device asks for them."""
    dark = "\n".join(f"  {line}" for line in colours("dark"))
    light = _root([*colours("light"), *others])
    return f"{light}\n@media screen and (prefers-color-scheme: dark) {{\n  :root {{\n{dark}\n  }}\n}}"


def _shades(scheme: str) -> list[str]:
    return _lines({shade.name: getattr(shade, scheme) for shade in tokens.SHADES.values()})


def _paints(scheme: str) -> list[str]:
    named = {f"c-{tone.name}": getattr(tone, scheme) for tone in tokens.TONES.values()}
    return _lines(named | {f"o-{offer.letter.lower()}": getattr(offer, scheme) for offer in tokens.OFFERS})


def _lines(named: Mapping[str, str]) -> list[str]:
    return [f"  --{name}: {colour};" for name, colour in named.items()]


def _measures() -> list[str]:
    sizes = {f"t-{name}": size for name, size in tokens.TYPE.items()}
    sizes |= {f"s{number}": size for number, size in enumerate(tokens.SPACE, 1)}
    sizes |= tokens.TARGETS
    return [*(f"  --{name}: {size}rem;" for name, size in sizes.items()), *_faces()]


def _faces() -> list[str]:
    return [f"  --{name}: {face};" for name, face in tokens.FACES.items()]
