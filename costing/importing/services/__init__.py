"""The cells carried in the page, rows held against the book, and all of them saved at once."""
