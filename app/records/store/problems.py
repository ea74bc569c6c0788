"""What reading the records can end in, besides an answer."""


class NotHere(LookupError):
    """There is no such record, or it is not this person's to see: both look the same."""


class StoreProblem(Exception):
    """The data folder cannot be used; the text is one plain sentence with what to do."""
