"""The shop, its people and its devices: what the manager sets, and signing in."""
