"""Thin writers from scenes to files; they decide nothing."""
