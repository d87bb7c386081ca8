"""The look of the book: one table of tokens, and what is made from it for pages, drawings, paper and mail."""
