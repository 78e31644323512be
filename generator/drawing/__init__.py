"""Schematics and plots: symbols, sheet, layout, border and title block."""
