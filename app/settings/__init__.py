"""What the program is told from outside: typed, read once, refused when unsafe."""
