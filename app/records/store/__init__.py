"""The folder and what holds it: database, keys, trail, and looking at them from outside."""
