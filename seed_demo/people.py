"""Who works at Harbour Steps. Everybody is invented."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Staff:
    """One invented person of the team. months: how long from today the papers still count."""

    name: str
    roles: str
    languages: str
    grade: str = ""
    months: int = 0
    depth_cap_m: float | None = None
    breathing_rate_l_min: float | None = None


STAFF = (
    Staff("Wren Tallow", "manager", "en fr"),
    Staff("Odile Marsh", "desk", "en fr de"),
    Staff("Bram Keelan", "instructor lead", "en nl de", "level 2", 14, None, 13.5),
    Staff("Sula Fennimore", "instructor", "en es", "level 2", 9, None, 14.0),
    Staff("Jory Penhale", "instructor", "en fr", "level 2", 5, 10.0, 16.0),
    Staff("Marta Quillfeather", "instructor", "en it es", "level 2", 20, None, 12.5),
    Staff("Tove Ashdown", "instructor", "en de sv", "level 1", 11, None, 15.0),
    Staff("Ned Corrie", "desk instructor", "en", "assistant", 7, None, 17.0),
    Staff("Hesper Lowe", "keeper", "en"),
)
# Demo secrets: they open nothing but the demo, which listens on this computer only.
PASSPHRASE = "seven quiet lanterns by the quay"
FIRST_PIN = 204_601
