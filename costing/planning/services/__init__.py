"""Rows in and out of what is coming."""
