"""Text to values: quantities, parts, codes printed on parts."""
