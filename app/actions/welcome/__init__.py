"""Slots, parties and guests: booking, changing, arriving."""
