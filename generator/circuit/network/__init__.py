"""The device as one network."""
