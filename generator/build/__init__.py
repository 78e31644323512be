"""What is worked out, kept, written and replaced."""
