"""Who goes with whom, and a group turned into the facts that the gates ask for."""
