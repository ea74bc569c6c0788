"""What guests do themselves, or have done for them, from the handed-over tablet to the card."""
