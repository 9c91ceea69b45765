"""The ball, the release, the stance and the spread: what the bowler brings."""
