"""Tell what is on hand, how old it is, and how fast it goes."""
