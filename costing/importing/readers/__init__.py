"""Files read: each becomes a `Sheet` of texts, or is refused with a sentence."""
