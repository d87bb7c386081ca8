"""Offers for a next car: the file and the form they come in, the figures they start from, and one report."""
