"""Numbers and words as people read them."""
