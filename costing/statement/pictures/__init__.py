"""What is shown of a statement: its entries, its periods and its sentences."""
