"""How the ball moves on the lane and what it does to the pins."""
