"""Keeping and sharing: backups, exports, sheets, prints, pictures, paper typed in."""
