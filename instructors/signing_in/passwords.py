"""What a password must be: long, not a common one, and not the co-op's own name. Nothing else.

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
    "Not one that many people use, and not the name of the co-op."
)
_PRODUCT = "Tuition Car Book"
#: Letters that must be left when the words of the names are taken away: one word more.
_OWN_LETTERS = 4


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
    """Refuse what is little more than the name of the co-op or of this book, which others would try first."""

    def validate(self, password: str, user: object = None) -> None:
        letters = left = _letters(password)
        for word in sorted(_words(f"{cooperative().name} {_PRODUCT}"), key=len, reverse=True):
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


def _words(name: str) -> set[str]:
    """The words of a name, without the short ones that stand in many others: hollin, vale, instructors."""
    return {word for word in re.findall(r"[^\W\d_]+", name.casefold()) if len(word) > 2}


def _letters(text: str) -> str:
    """The letters of a text alone, all small."""
    return "".join(character for character in text.casefold() if character.isalpha())
