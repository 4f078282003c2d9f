"""What stands between a month's books and done: a module for each kind of point."""
