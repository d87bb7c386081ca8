"""Static files as they are collected: hashed, compressed, and our own without what only their readers need."""

import re
from typing import Any

from django.core.files.base import ContentFile
from whitenoise.storage import CompressedManifestStaticFilesStorage

_STYLES_SAY = re.compile(r"/\*.*?\*/", re.DOTALL)


class LeanStaticFiles(CompressedManifestStaticFilesStorage):
    """Leaves comments and indentation out of our stylesheets and scripts: of a first visit they were a tenth."""

    def _save(self, name: str, content: Any) -> str:
        # Ours stand at the top; those of others stay as they came.
        if name.endswith((".css", ".js")) and "/" not in name.replace("\\", "/"):
            content.seek(0)  # whoever made its hash has read it
            content = ContentFile(lean(content.read().decode(), name).encode())
        return str(super()._save(name, content))


def lean(text: str, name: str) -> str:
    """A stylesheet or script of ours without indentation, empty lines, and comments: in a script, those of whole lines.

    No script of ours has a text of several lines, whose lines might look like comments (tests/config/test_lean.py).
    """
    if name.endswith(".css"):
        text = _STYLES_SAY.sub("", text)
    lines = [line.strip() for line in text.splitlines()]
    return "".join(f"{line}\n" for line in lines if line and not (name.endswith(".js") and line.startswith("//")))
