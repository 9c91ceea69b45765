"""What each card and page says, in words and numbers; nothing of paper or fonts."""
