"""Offers for a next car, compared on one footing: terms in, cash flows and figures out, and nothing else."""
