"""Keeping and sharing: search, exports, sheets, prints, pictures, paper."""
