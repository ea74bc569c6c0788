"""Copies of everything, what opens them, and putting one back."""
