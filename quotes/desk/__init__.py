"""Quotes as a rep sees them: the list, one quote with every step, and the price adjusted."""
