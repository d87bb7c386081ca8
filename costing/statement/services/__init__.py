"""Rows in and out: the figures of several periods at once, what they are compared with, and what looks odd."""
