"""The arithmetic of offers: plain records in, whole pence out (design.md section 9). No Django, no clock, no text."""
