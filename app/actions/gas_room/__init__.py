"""Filling and testing cylinders, giving them out, keeping the compressor."""
