"""What a page says after something was stored: one sentence per act, followed by the time."""

SAID = {
    "book_party": "Party booked at the shop.",
    "edit_party": "Party changed.",
    "move_party": "Party moved to another slot.",
    "cancel_party": "Party cancelled.",
    "no_show_party": "Party marked as not come.",
    "rebook_party": "Party is booked again.",
    "mark_paid": "Payment mark changed.",
    "add_guest": "Guest added.",
    "edit_guest": "Guest changed.",
    "leave_out_guest": "Guest taken out of the party.",
    "change_shop": "Shop changed.",
    "set_limit": "Limit set.",
    "add_site": "Site added.",
    "edit_site": "Site changed.",
    "add_person": "Person added.",
    "change_person": "Person changed.",
    "change_passphrase": "Passphrase changed.",
    "pair_device": "This device is paired.",
    "end_device": "Device ended.",
}
