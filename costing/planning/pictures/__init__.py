"""Words, rows and drawings of what is coming."""
