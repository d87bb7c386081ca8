"""Rows of the book as the wing's figures."""
