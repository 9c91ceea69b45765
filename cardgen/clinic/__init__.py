"""A roster in, one print job out."""
