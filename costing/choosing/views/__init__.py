"""Pages of a comparison."""
