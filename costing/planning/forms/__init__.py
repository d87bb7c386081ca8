"""Forms of what is coming."""
