"""Views of what is coming."""
