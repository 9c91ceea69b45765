"""The log of a bowler's shots: what is written down of a shot, how it is read and written."""
