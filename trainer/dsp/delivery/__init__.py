"""What a file goes through on its way: coding and word length."""
