"""The live server."""
