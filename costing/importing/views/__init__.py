"""The pages: a file is chosen, then its rows are looked at and saved."""
