"""A group's plan: what it rests on, the dives before it, and what the shop's dives teach of breathing."""
