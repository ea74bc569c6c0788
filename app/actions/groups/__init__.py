"""Who goes with whom, and the plan that a group goes in under."""
