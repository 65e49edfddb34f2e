"""What the window of a reviewed take shows, and what it has worked out behind it."""
