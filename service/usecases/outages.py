"""What a store raises that cannot be had."""


class StoreUnavailable(Exception):
    """The store cannot be reached or cannot take part now; the same request may do later."""


class StoreUnusable(Exception):
    """The store that was named cannot be had as it was named; trying again does not help."""
