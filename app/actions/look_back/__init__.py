"""Incidents, and the manager's sign-off of a day."""
