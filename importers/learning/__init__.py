"""Learn what item texts mean, and book the lines that waited for it."""
