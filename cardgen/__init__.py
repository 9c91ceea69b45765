"""Pocket-sized coaching cards for ten-pin bowling spare shooting, computed for one bowler."""

__version__ = "0.1.0"
