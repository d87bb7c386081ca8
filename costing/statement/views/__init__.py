"""Views of the statement."""
