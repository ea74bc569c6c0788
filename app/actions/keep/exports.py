"""What left the shop: every export is an entry of the trail, with how much it was and the file's digest."""

from app.actions.act import Act


def note_export(act: Act, what: str, form: str, amount: str, digest: str = "") -> None:
    """Write down that something left the shop. what: days, a group, a guest's number; never a name."""
    act.about = ("export", what)
    act.reason = f"{amount} as {form}" + (f", SHA-256 {digest}" if digest else "")
