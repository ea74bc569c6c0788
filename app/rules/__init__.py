"""The shop's decisions: every limit with its value, unit and source, and every gate as one pure function.

A gate receives facts (frozen dataclasses), the limits in force and, where time matters, the day or
the moment as an argument. It answers a `Decision` that carries every reason, not only the first.
Nothing here reads a clock, a file or a database.
"""
