"""Templates of plain text (.txt: mails, their subjects, short messages), in which nothing is escaped.

In HTML an O'Neill must be written O&#x27;Neill; in a subject that is what would be read. Settings put an engine
that finds .txt alone before the one for pages, so that no template, and no library's, has to think of it.
"""

from collections.abc import Iterator

from django.template import Origin
from django.template.loaders import app_directories, filesystem


class _TextOnly(filesystem.Loader):
    def get_template_sources(self, template_name: str) -> Iterator[Origin]:
        """Where a template of this name may lie; nowhere if it is not plain text."""
        if template_name.endswith(".txt"):
            yield from super().get_template_sources(template_name)


class ProjectTexts(_TextOnly):
    """Of the project's own folder of templates."""


class AppTexts(_TextOnly, app_directories.Loader):
    """Of the apps that are installed."""
