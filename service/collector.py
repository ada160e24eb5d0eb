"""Python's collector of cycles, set for a server that is loaded once and answers for days.

What is loaded (code libraries, schemas, the document) is never given up, so there is nothing to
look for in it. A request makes tens of thousands of records, nearly all of them without cycles,
that go by themselves when it is answered; looking through them several times meanwhile is in vain.

Source: Python documentation, module gc, on freeze and set_threshold.
"""

import gc

# Records made more than given up before the young are looked through; the older ones follow after
# ten rounds each, as Python has it.
YOUNG = 50_000


def settle() -> None:
    """Set aside what is loaded by now, and look through what comes later less often."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(YOUNG, 10, 10)
