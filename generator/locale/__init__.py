"""Catalogues of texts, one .po file for each language, and the command that brings them up to date."""
