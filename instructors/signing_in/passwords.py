"""What a password must be (long, uncommon and without the co-op's own name), and how it is hashed.

There are no rules about digits and symbols: they make passwords that are hard to remember and easy to guess
(NIST SP 800-63B, 5.1.1.2; OWASP ASVS 5, 6.2).
"""

import re

from django.contrib.auth.hashers import Argon2PasswordHasher
from django.core.exceptions import ValidationError

from instructors.queries import cooperative

#: NIST asks for fifteen characters where a password is the only factor, and eight with a second one. Twelve, about
#: three short words, will do here: strangers get 100 tries a day at one address, and a stolen hash is slow to try.
LEAST = 12
#: More characters add nothing, and hashing them would help an attacker to keep the server busy.
MOST = 128
RULES = (
    f"At least {LEAST} characters: three or four words that have nothing to do with each other work well. "
    "Do not use a common password, the name of the co-op or a distinctive word from it."
)
_PRODUCT = "Tuition Car Book"
#: Letters that must be left once the words of both names are taken out: about one word.
_OWN_LETTERS = 4
#: A word with at least this many letters gives a name away.
_DISTINCTIVE = 5
#: Words that occur in many co-ops' names or in anybody's writing: a password may contain them.
_EVERYDAY_WORDS = """
academy approved association book british business car cars central centre club co collective college company
cooperative cooperatives county driver drivers driving east eastern eight federation first great group independent
instruction instructor instructors learner learners lesson lessons limited local motor motoring national network
north northern of operative our partners partnership professional road school schools service services seven society
south southern teach teachers teaching the three town training trainers tuition union united west western women
"""
_EVERYDAY = frozenset(_EVERYDAY_WORDS.split())


class FrugalArgon2Hasher(Argon2PasswordHasher):
    """Argon2id with the least memory that OWASP recommends: 19 MiB, two passes, one thread.

    Django's default takes 100 MiB for each try, and eight threads may hash at once.
    """

    memory_cost = 19 * 1024
    time_cost = 2
    parallelism = 1


class LengthValidator:
    """Refuse a password that is too short, or absurdly long."""

    def validate(self, password: str, user: object = None) -> None:
        if len(password) < LEAST:
            raise ValidationError(
                f"This is too short: use at least {LEAST} characters, such as three or four words.", code="too_short"
            )
        if len(password) > MOST:
            raise ValidationError(f"This is too long: use at most {MOST} characters.", code="too_long")

    def get_help_text(self) -> str:
        return RULES


class NameValidator:
    """Refuse a password with the co-op's or the book's name in it, or a distinctive word of either.

    Attackers try such words first, with something added (context-specific words: NIST SP 800-63B, 5.1.1.2; OWASP
    ASVS 5, 6.2.11). A password of little more than everyday words from these names is refused too.
    """

    def validate(self, password: str, user: object = None) -> None:
        letters = left = _letters(password)
        name = cooperative().name
        if any(given in letters for given in _giveaways(name) | _giveaways(_PRODUCT)):
            raise ValidationError(
                "This contains the name of the co-op or of this book, or a distinctive word from it. People guess "
                "those first, so use other words.",
                code="name",
            )
        for word in sorted(_words(f"{name} {_PRODUCT}"), key=len, reverse=True):
            left = left.replace(word, "")
        from_names = len(letters) - len(left)
        if len(left) < _OWN_LETTERS and from_names * 2 >= len(password):
            raise ValidationError(
                "This is little more than the name of the co-op or of this book. People guess that first, so add words "
                "of your own.",
                code="name",
            )

    def get_help_text(self) -> str:
        return ""


def _giveaways(name: str) -> set[str]:
    """What gives a name away: each distinctive word, neighbouring words run together if one is distinctive, and all."""
    words = re.findall(r"[^\W\d_]+", name.casefold())
    runs = [words[start:end] for start in range(len(words)) for end in range(start + 1, len(words) + 1)]
    giveaways = {"".join(run) for run in runs if not _EVERYDAY.issuperset(run) or (run == words and len(run) > 2)}
    return {word for word in giveaways if len(word) >= _DISTINCTIVE}


def _words(name: str) -> set[str]:
    """The words of a name that have more than two letters, in lower case."""
    return {word for word in re.findall(r"[^\W\d_]+", name.casefold()) if len(word) > 2}


def _letters(text: str) -> str:
    """Only the letters of a text, in lower case."""
    return "".join(character for character in text.casefold() if character.isalpha())
