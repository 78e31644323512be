"""What each page shows."""
