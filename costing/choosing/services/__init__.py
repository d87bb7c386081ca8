"""What is kept of a comparison and what the book knows for it."""
