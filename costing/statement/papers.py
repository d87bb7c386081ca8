"""The papers of the wing that may take longer than a page: by the name of each kind, what makes it."""

from costing.actions.papers import Maker

MAKERS: dict[str, Maker] = {}
