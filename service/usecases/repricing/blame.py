"""Whose fault it is when a quote fails for a reason that nobody foresaw: its own, or of us all."""

from collections.abc import Callable, Sequence

MOST_SET_ASIDE = 100  # quotes of one piece of work; where more fail, it is not the quotes' fault
_MOST_TRIED = 8

# Whatever a quote holds, it brings none of these about; nor a store that is away.
_OF_THE_MACHINE = (MemoryError, OSError, ImportError)


def is_of_the_machine(error: Exception) -> bool:
    """Tell whether no quote can be to blame.

    Example:
        >>> is_of_the_machine(MemoryError()), is_of_the_machine(ValueError())
        (True, False)
    """
    return isinstance(error, _OF_THE_MACHINE)


def fault_of(error: Exception) -> str:
    """Say why a quote is set aside; the words of an exception may hold data, its name none.

    Example:
        >>> fault_of(ZeroDivisionError("112.50"))
        'It could not be worked out: ZeroDivisionError'
    """
    return f"It could not be worked out: {type(error).__name__}"


def others_come_through(others: Sequence[str], trial: Callable[[str], bool | None]) -> bool | None:
    """Tell whether what one quote fails at can be done with others now.

    Args:
        others: Their ids; a few are tried, from all along.
        trial: Tells whether it can be done with a quote, None where it is not to be.

    Returns:
        None where no quote tells.

    Example:
        >>> came = {"a": None, "b": False, "c": True}
        >>> [others_come_through(some, came.get) for some in ("a", "ab", "abc")]
        [None, False, True]
    """
    failed = False
    for one in others[:: max(1, len(others) // _MOST_TRIED)]:
        came = trial(one)
        if came:
            return True
        failed = failed or came is False
    return False if failed else None
