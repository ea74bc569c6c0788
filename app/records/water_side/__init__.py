"""Who is in the water, who was counted, and everything that is asked before going in."""
