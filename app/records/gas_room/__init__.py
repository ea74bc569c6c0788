"""Cylinders, fills and the compressor, and the account of the day's gas."""
