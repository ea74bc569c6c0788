"""The shop itself, its people's visits and its devices, as read."""
