"""Forms of what looks odd."""
