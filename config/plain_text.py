"""Template loaders for plain text (.txt: mails, their subjects, short messages), in which nothing is escaped.

HTML needs O&#x27;Neill for O'Neill, but in a subject people would read just that. The settings put an engine that finds
only .txt before the one for pages, so no template has to switch escaping off, not even a library's.
"""

from collections.abc import Iterator

from django.template import Origin
from django.template.loaders import app_directories, filesystem


class _TextOnly(filesystem.Loader):
    def get_template_sources(self, template_name: str) -> Iterator[Origin]:
        """Where this template may be; nowhere if it is not plain text."""
        if template_name.endswith(".txt"):
            yield from super().get_template_sources(template_name)


class ProjectTexts(_TextOnly):
    """Finds plain text in the project's templates folder."""


class AppTexts(_TextOnly, app_directories.Loader):
    """Finds plain text in the installed apps."""
