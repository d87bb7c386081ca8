"""What the parts of a mail wear. Mail programs know no stylesheet, so each part carries its own, made from the tokens.

A program that knows the reader's scheme takes the dark one from the few rules in the mail's head; every other shows the
light one. No face is fetched: words stand in what the reader's machine has.
"""

from typing import NamedTuple

from config.look.tokens import FACES, SHADES

# Ours comes first in each. Names of several words need no quotes, which an attribute would have to escape.
_BOOK, _HAND = (FACES[name].split(", ", 1)[1].replace('"', "") for name in ("book", "hand"))
_TEXT = f"font:16px/1.45 {_HAND}"


class Dress(NamedTuple):
    """What one part wears: an ink, the ground it lies on, whether it paints that, its edge's shade, and the rest."""

    ink: str
    ground: str
    is_painted: bool = False
    edge: str = ""
    css: str = ""

    def declared(self, scheme: str, end: str = "") -> str:
        """Its colours as declarations of one scheme, ``light`` or ``dark``, each with ``end`` after its value."""
        pairs = [("color", self.ink)]
        pairs += [("background-color", self.ground)] if self.is_painted else []
        pairs += [("border-color", self.edge)] if self.edge else []
        return ";".join(f"{name}:{getattr(SHADES[shade], scheme)}{end}" for name, shade in pairs)


_PANEL = f"padding:20px;border-width:2px;border-style:solid;border-radius:8px 18px 18px 8px;{_TEXT}"
_LINK = "display:inline-block;padding:11px 0;text-decoration:underline"
_KEY = f"border-width:2px;border-style:solid;border-radius:26px;padding:12px 20px;{_TEXT}"
_HEAD = f"margin:0;font:bold 18px/1.3 {_BOOK}"
_VERDICT = f"margin:0 0 12px;font:bold 24px/1.25 {_BOOK}"
_ROW = f"padding:14px 0 8px;border-style:solid;border-width:1px 0 0;{_TEXT}"
_CELL = f"width:8.33%;height:28px;padding:0;text-align:center;font:bold 15px/28px {_HAND}"
_SMALL = "margin:6px 0 0;font-size:14px"

DRESSES: dict[str, Dress] = {
    "ground": Dress("ink", "paper", True, css="margin:0;padding:0"),
    "margin": Dress("ink", "paper", True, css="padding:20px 10px"),
    "column": Dress("ink", "paper", css="width:100%;max-width:600px;text-align:left"),
    "greeting": Dress("quiet", "paper", css=f"padding:0 4px 12px;font:14px/1.45 {_HAND}"),
    "foot": Dress("quiet", "paper", css=f"padding:12px 4px 0;font:14px/1.45 {_HAND}"),
    "footwords": Dress("quiet", "paper", css="margin:8px 0 0"),
    "footlink": Dress("accent", "paper", css="text-decoration:underline"),
    # The panel; off the road turns its scheme over.
    "card": Dress("ink", "card", True, "frame", _PANEL),
    "stop": Dress("onstop", "stop", True, "stop", _PANEL),
    "gap": Dress("ink", "paper", css="height:10px;font-size:1px;line-height:1px"),
    "verdict": Dress("ink", "card", css=_VERDICT),
    "stopverdict": Dress("onstop", "stop", css=_VERDICT),
    "stopwords": Dress("onstop", "stop", css="margin:10px 0 0"),
    "stoplink": Dress("onstop", "stop", css="font-weight:bold;text-decoration:underline"),
    "stopreason": Dress("onstop", "stop", css="margin:2px 0 0"),
    "head": Dress("ink", "card", css=f"{_HEAD};padding:10px 0 8px"),
    "name": Dress("ink", "card", css="margin:0;font-size:16px;line-height:1.45;font-weight:bold"),
    "words": Dress("ink", "card", css="margin:6px 0 0"),
    "small": Dress("quiet", "card", css=_SMALL),
    "address": Dress("ink", "card", css="margin:4px 0 0;font-size:14px;word-break:break-all"),
    "row": Dress("ink", "card", False, "hair", _ROW),
    "road": Dress("paint", "road", True, css=_CELL),
    "key": Dress("onaccent", "fill", True, "accent", _KEY),
    "keywords": Dress("onaccent", "fill", css="display:block;font-weight:bold;font-size:17px;text-decoration:none"),
    "link": Dress("accent", "card", css=_LINK),
    "within": Dress("accent", "card", css="text-decoration:underline"),
}

#: Of a state, by its name in ``tokens.STATES``, as a character that mail programs have; "due" fills like its ring.
_SIGNS = {"off": "⊖", "overdue": "▼", "unknown": "◇", "booked": "▣", "later": "○"}
_FILLING = "◔◑◕●"


def style_of(name: str) -> str:
    """The style of a part, in the light scheme. Raises KeyError for a part that is not in `DRESSES`."""
    dress = DRESSES[name]
    return f"{dress.declared('light')};{dress.css}"


def dark_rules() -> str:
    """The rules that put every part into the dark scheme, for a stylesheet in the mail's head."""
    rules = "".join(f".{name}{{{dress.declared('dark', ' !important')}}}" for name, dress in DRESSES.items())
    return f"@media (prefers-color-scheme:dark){{{rules}}}"


def sign(state: str, days_left: int | None = None, notice_days: int = 30) -> str:
    """The sign of a state in a mail. Raises KeyError for a state that is not in ``tokens.STATES``."""
    if state != "due":
        return _SIGNS[state]
    share = 1.0 if days_left is None or notice_days <= 0 else 1 - days_left / notice_days
    return _FILLING[max(0, min(3, round(share * 4) - 1))]
