"""A clinic's roster: who takes part, how it is read, and each student's profile."""
