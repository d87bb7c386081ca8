"""PostgreSQL as the book talks to it."""
