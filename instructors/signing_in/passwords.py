"""What a password must be: long, not a common one, and without the co-op's own name. Nothing else.

After NIST SP 800-63B, 5.1.1.2, and OWASP ASVS 5, 6.2: rules about digits and signs make passwords that are hard to
keep in mind and easy to guess, so there are none.
"""

import re

from django.core.exceptions import ValidationError

from instructors.queries import cooperative

#: Fifteen are asked for where a password is all there is, eight with a second factor; here tries are limited to 100 a
#: day and address, and what may be stolen is a hash that takes long to try. Three short words are about twelve.
LEAST = 12
#: Longer ones bring nothing, and hashing them would be work for whoever wants to tire the server.
MOST = 128
RULES = (
    f"{LEAST} characters or more; three or four words that have nothing to do with each other are good. "
    "Not one that many people use, and not containing the name of the co-op or a distinctive word of it."
)
_PRODUCT = "Tuition Car Book"
#: Letters that must be left when the words of the names are taken away: one word more.
_OWN_LETTERS = 4
#: Letters of a word that gives a name away.
_DISTINCTIVE = 5
#: Words that stand in the names of many co-ops, or in what anybody may write: a password may hold them.
_EVERYDAY_WORDS = """
academy approved association book british business car cars central centre club co collective college company
cooperative cooperatives county driver drivers driving east eastern eight federation first great group independent
instruction instructor instructors learner learners lesson lessons limited local motor motoring national network
north northern of operative our partners partnership professional road school schools service services seven society
south southern teach teachers teaching the three town training trainers tuition union united west western women
"""
_EVERYDAY = frozenset(_EVERYDAY_WORDS.split())


class LengthValidator:
    """Refuse what is too short or beyond all measure."""

    def validate(self, password: str, user: object = None) -> None:
        if len(password) < LEAST:
            raise ValidationError(
                f"This is too short: use {LEAST} characters or more, such as three or four words.", code="too_short"
            )
        if len(password) > MOST:
            raise ValidationError(f"This is too long: use {MOST} characters at most.", code="too_long")

    def get_help_text(self) -> str:
        return RULES


class NameValidator:
    """Refuse what holds the name of the co-op or of this book, or a word that stands out in one.

    Whoever guesses tries such words first, and puts others behind them: the context-specific words of NIST
    SP 800-63B, 5.1.1.2, and of OWASP ASVS 5, 6.2.11. Refused too is what is little else than everyday words of them.
    """

    def validate(self, password: str, user: object = None) -> None:
        letters = left = _letters(password)
        name = cooperative().name
        if any(telling in letters for telling in _telling(name) | _telling(_PRODUCT)):
            raise ValidationError(
                "This holds the name of the co-op or of this book, or a distinctive word of it, which others would "
                "try first. Use other words.",
                code="name",
            )
        for word in sorted(_words(f"{name} {_PRODUCT}"), key=len, reverse=True):
            left = left.replace(word, "")
        from_names = len(letters) - len(left)
        if len(left) < _OWN_LETTERS and from_names * 2 >= len(password):
            raise ValidationError(
                "This is little more than the name of the co-op or of this book, which others would try first. "
                "Add words of your own.",
                code="name",
            )

    def get_help_text(self) -> str:
        return ""


def _telling(name: str) -> set[str]:
    """What gives a name away: each distinctive word, adjoining words run together if one is, and all of them."""
    words = re.findall(r"[^\W\d_]+", name.casefold())
    runs = [words[start:end] for start in range(len(words)) for end in range(start + 1, len(words) + 1)]
    telling = {"".join(run) for run in runs if not _EVERYDAY.issuperset(run) or (run == words and len(run) > 2)}
    return {word for word in telling if len(word) >= _DISTINCTIVE}


def _words(name: str) -> set[str]:
    """The words of a name, without the short ones that stand in many others: hollin, vale, instructors."""
    return {word for word in re.findall(r"[^\W\d_]+", name.casefold()) if len(word) > 2}


def _letters(text: str) -> str:
    """The letters of a text alone, all small."""
    return "".join(character for character in text.casefold() if character.isalpha())
