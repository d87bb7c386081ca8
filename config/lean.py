"""Static files as they are collected: hashed, compressed, and our own without what only their readers need."""

import re
from typing import Any

from django.core.files.base import ContentFile
from rjsmin import jsmin
from whitenoise.storage import CompressedManifestStaticFilesStorage

_STYLES_SAY = re.compile(r"/\*.*?\*/", re.DOTALL)
#: A text, which stays as it is; and the signs beside which a stylesheet needs no space. Before a colon it may:
#: ``a :hover`` is not ``a:hover``.
_STYLES_SIGN = re.compile(r'("[^"]*")|\s*([{};,])\s*|(:)\s+')


class LeanStaticFiles(CompressedManifestStaticFilesStorage):
    """Leaves comments and needless space out of our stylesheets and scripts: of a first visit they were a ninth."""

    def _save(self, name: str, content: Any) -> str:
        # Ours stand at the top; those of others stay as they came.
        if name.endswith((".css", ".js")) and "/" not in name.replace("\\", "/"):
            content.seek(0)  # whoever made its hash has read it
            content = ContentFile(lean(content.read().decode(), name).encode())
        return str(super()._save(name, content))


def lean(text: str, name: str) -> str:
    """A stylesheet or script of ours without comments, and without space that says nothing to a browser.

    No script of ours has a text in backticks within another, which would not be told apart (tests/config/test_lean.py).
    """
    if name.endswith(".js"):
        return f"{jsmin(text)}\n"
    return _STYLES_SIGN.sub(r"\1\2\3", _STYLES_SAY.sub("", text)).strip() + "\n"
