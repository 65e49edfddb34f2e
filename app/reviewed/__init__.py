"""What the window of a reviewed take shows: its sheet on the clock of the plan, and its track."""
