"""What is shown of what is coming: words, tables and drawings."""
