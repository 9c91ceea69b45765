"""Imposition: from page scenes to sheet scenes."""
