"""Sound as arrays: clips, loops and their seams, resampling, test signals."""
