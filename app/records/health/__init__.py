"""Health records: where each guest stands, who looked, and how long they are kept."""
