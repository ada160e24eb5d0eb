"""What a store raises that is away for now."""


class StoreUnavailable(Exception):
    """The store cannot be reached or cannot take part now; the same request may do later."""
