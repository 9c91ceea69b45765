"""Scenes in millimetres: from what a card says to where its ink goes."""
