"""Signing in: allauth's pages with this book's limits, words and ways out."""
