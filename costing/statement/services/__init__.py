"""Rows in and out: the figures of several periods at once, and what they are compared with."""
