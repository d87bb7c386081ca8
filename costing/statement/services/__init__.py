"""What the book knows for a statement and for what looks odd."""
