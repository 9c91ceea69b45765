"""From a bowler and a lane to the best line for a leave."""
