"""Giving kit and lead out, taking them back, caring for them."""
