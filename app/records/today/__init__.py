"""What a day needs next, from whom, and whether more would fit."""
