"""The lane, the rack and the leaves: places and names, no motion."""
