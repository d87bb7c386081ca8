"""Template loaders for pages: of a template's indentation, which only its readers need, nothing is sent.

In a list of hundreds of rows it would be a third of the page. Lines stay lines, so an error still names the right one.
No template has text whose spaces matter; what members typed is not part of one.
"""

import re

from django.template import Origin
from django.template.loaders import app_directories, filesystem

_INDENTATION = re.compile(r"^[ \t]+", re.MULTILINE)


class ProjectPages(filesystem.Loader):
    """Finds pages in the project's templates folder."""

    def get_contents(self, origin: Origin) -> str:
        """The template without its indentation."""
        return _INDENTATION.sub("", super().get_contents(origin))


class AppPages(app_directories.Loader, ProjectPages):
    """Finds pages in the installed apps."""
