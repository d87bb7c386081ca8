"""Plumbing that knows no app: settings, addresses, the task queue, mail and HTTP helpers."""

from config.refusal import say_refusals_plainly

say_refusals_plainly()
