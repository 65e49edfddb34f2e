"""What the panels show: ready texts and rows, pure functions of the plan and its outlook."""
