"""The arithmetic of the book: plain records in, whole pence and miles out.

Nothing here knows Django, a clock or a setting; words and formatting live with the pages.
"""
