"""The bowler's profile: its schema, its loading with located errors, its domain values."""
