"""How long the book takes on ten years of a full co-op. Ratios and a peak, not tests: read them, do not assert."""
