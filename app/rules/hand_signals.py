"""The hand signals that a guest needs, in the order in which they are shown, with what each one says.

Which movements divers use for them: common practice, no source. The words and the drawings are our own.
"""

from collections.abc import Mapping
from types import MappingProxyType

SIGNALS: Mapping[str, str] = MappingProxyType(
    {
        "ok": "All is well. Is all well with you?",
        "not-ok": "Something is wrong.",
        "up": "We go up.",
        "down": "We go down.",
        "stop": "Stop. Stay where you are.",
        "look": "Look at me.",
        "ears": "My ears hurt.",
        "slow": "Slowly. Be calm.",
        "hands": "Hold hands.",
        "half": "My gauge is at the turn.",
        "low": "I have little air left.",
        "out": "I have no air.",
        "share": "Give me air. We share.",
        "shore": "Back to the shore or the boat.",
    }
)
"""What each signal says, by key."""


def signal_code(key: str) -> str:
    """Return the code of a signal's words, which stands on every translation of them as well."""
    return f"signal.{key}"
