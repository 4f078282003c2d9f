"""Book the day of a fair from its papers."""
