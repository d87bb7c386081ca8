"""A made-up co-op to look at: nobody in it exists, and none of its registration marks was ever issued."""
