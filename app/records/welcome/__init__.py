"""Slots, parties and guests as booked, and guests who were here before."""
