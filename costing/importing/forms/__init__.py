"""What the two pages ask."""
