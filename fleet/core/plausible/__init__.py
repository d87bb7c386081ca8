"""What is plausible: whether an entry can be right by what is known already, and what may be meant if it cannot.

Each room has ``limits``, made of a history once, and ``doubts``, which compares an entry with them. Limits are plain
numbers and words, so that a page can carry them: `static/plausible.js` is the same comparison.
"""
