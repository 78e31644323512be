"""Markdown to HTML, with values, sheets, photos and designators in it."""
