"""A made-up co-op to look at: nobody and nothing in it exists, and no mark in it was ever issued."""
