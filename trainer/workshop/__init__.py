"""Where trials are made: at once, or in a process of their own."""
