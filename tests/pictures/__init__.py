"""The README's pictures, made by the real program on the bundled music."""
